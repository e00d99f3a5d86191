"""Pictures of the README, drawn from the demo study: `python studies/pictures/make.py`."""

from pathlib import Path

from stiffcalc import assess, load
from stiffcalc.caliper.build import build
from stiffcalc.caliper.section_study import sections
from stiffcalc.explore.bolt_matrix import bolt_matrix
from stiffcalc.explore.sensitivity import sensitivities
from stiffcalc.report import bolt_plots, milled, plots, section_plots, sensitivity_plots

HERE = Path(__file__).parent


def main() -> None:
    results = assess(load(HERE.parent / "hillclimb_front.toml"))
    (HERE / "opening.svg").write_text(plots.opening(results).svg, encoding="utf-8")
    matrix = bolt_matrix(load(HERE.parent / "four_or_six_bolts.toml"), aim="highest onset", front_view=False)
    (HERE / "bolts.svg").write_text(bolt_plots.heat_map(matrix, ((2, 2), 4, False)).svg, encoding="utf-8")
    cut = sections(load(HERE.parent / "hillclimb_front.toml"), bridge="trailing end").sections[0]
    worst = max((c.fillet for c in cut.load_cases if c.fillet), key=lambda f: f.section_stress)
    picture = section_plots.stress(
        cut.drawing, what="the section through the trailing end", id="1", peak=(worst.z, worst.y)
    )
    (HERE / "section.svg").write_text(picture.svg, encoding="utf-8")
    slopes = sensitivities(load(HERE.parent / "hillclimb_front.toml"), variant="one piece")
    (HERE / "slopes.svg").write_text(sensitivity_plots.tornado(slopes, "spread").svg, encoding="utf-8")
    shaped = build(load(HERE.parent / "shaped_body.toml").designs[1])
    (HERE / "shape.svg").write_text(milled.plan(shaped).svg, encoding="utf-8")
    (HERE / "axes.svg").write_text(plots.axes_and_signs().svg, encoding="utf-8")


if __name__ == "__main__":
    main()
