"""Pictures: sound XML, units on the axes, nothing hidden; inks readable to every eye."""

import re
from dataclasses import replace
from importlib import resources
from xml.etree import ElementTree

import numpy as np
import pytest
import report_sample as sample

from stiffcalc.caliper.results import Results
from stiffcalc.report import canvas, choose, plots
from stiffcalc.report.canvas import Picture
from stiffcalc.report.plots import Pictures

SVG = "{http://www.w3.org/2000/svg}"


def every(drawn: Pictures) -> list[Picture]:
    rows = (p for row in (*drawn.rows, drawn.steps) for p in row if p is not None)
    return [*drawn.shared, *rows, drawn.axes]


@pytest.fixture(scope="module", params=["good", "ugly"])
def pictures(request: pytest.FixtureRequest) -> list[Picture]:
    return every(request.getfixturevalue(f"{request.param}_pictures"))


def words(picture: Picture) -> str:
    return " | ".join("".join(t.itertext()) for t in ElementTree.fromstring(picture.svg).iter(f"{SVG}text"))


def test_pictures_are_sound_and_keep_their_ids_apart(pictures: list[Picture]) -> None:
    seen: set[str] = set()
    for p in pictures:
        root = ElementTree.fromstring(p.svg)
        ids = [e.attrib["id"] for e in root.iter() if "id" in e.attrib]
        assert len(set(ids)) == len(ids)
        assert not seen & set(ids)
        seen |= set(ids)
        used = re.findall(r'(?:href="#|url\(#)([^")]+)', p.svg)
        assert set(used) <= set(ids), p.id
        assert root.attrib["aria-label"] == p.alt
        assert len(list(root.iter(f"{SVG}path"))) > 3, p.id


def test_inks_follow_the_page(pictures: list[Picture]) -> None:
    for p in pictures:
        bare = [c for c in canvas.PENS if re.search(rf": {c}", p.svg)]
        assert not bare, (p.id, bare)


def test_no_date_and_no_foreign_words(pictures: list[Picture]) -> None:
    for p in pictures:
        assert "metadata" not in p.svg
        assert not re.search(r"https?://(?!www\.w3\.org/)", p.svg)


@pytest.mark.parametrize(
    ("kind", "units"),
    [
        ("opening", ["line pressure, MPa", "spread, µm"]),
        ("bolts", ["line pressure, MPa", "bolt force, kN"]),
        ("contributions", ["contribution to the spread, µm"]),
        ("margins", ["margin, %"]),
        ("clamp", ["y, radial, mm", "contact pressure, minimum preload, MPa"]),
        ("steps", ["0.0\u00a0MPa", "contact pressure, minimum preload, MPa"]),
        ("front", ["x, tangential, mm", "y, radial, mm", "opening, µm"]),
        ("deformed", ["x, tangential, mm", "z, axial, mm", "y, radial, mm", "times too large"]),
        ("mass", ["total mass, kg", "kN/mm", "(kN/mm)/kg"]),
    ],
)
def test_axes_carry_units(pictures: list[Picture], kind: str, units: list[str]) -> None:
    found = [p for p in pictures if p.id.partition("-")[0] == kind and p.id != "mass-spread"]
    assert found
    for p in found:
        assert all(u in words(p) for u in units), (p.id, words(p))


def test_clamp_plane_step_by_step_shows_every_state_of_base_and_the_first_to_open(good: Results) -> None:
    drawn = plots.clamp_steps(good)
    assert [p.variant for p in drawn] == [0, 1]
    for p in drawn:
        shown = words(p)
        assert all(step.name in shown for step in good.variants[p.variant or 0].face_steps)
        assert "tightened" in shown and "port in its seal" in shown
    assert "2 % open" in words(plots.clamp_plane(good, 0))


def test_views_are_named_by_where_the_reader_stands(good: Results) -> None:
    """With x to the right and z up the reader looks along +y: out of the paper points x × z = -y, the rotor's axis."""
    out = np.cross([1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
    seen = {-1.0: "from below", 1.0: "from above"}
    for picture in (plots.axes_and_signs(), plots.deformed(good, 0)):
        assert picture is not None
        said = (picture.svg + picture.alt).lower()
        assert seen[out[1]] in said and seen[-out[1]] not in said


def test_one_piece_has_no_clamp_plane_and_no_bolts(good: Results) -> None:
    assert plots.clamp_plane(good, 2) is None
    assert plots.bolt_force(good, 2) is None


def test_contributions_show_every_part_and_their_sum(good: Results) -> None:
    shown = words(plots.contributions(good))
    for v in good.variants:
        case = choose.headline(v)
        assert all(
            f"| {1e3 * part:.0f} |".replace("-", "−") in f"| {shown} |"
            for part in case.contributions.values()
        )
        assert f"{1e3 * case.spread:.0f}" in shown


def test_missed_checks_say_so_in_words(ugly: Results) -> None:
    shown = words(plots.margins(ugly, 0))
    missed = [f for f in choose.worst_of_each(ugly, variant=0) if not f.check.met]
    assert len(missed) == 7
    assert shown.count("✕ not met") == len(missed)


def test_a_margin_longer_than_the_axis_keeps_its_number(good: Results) -> None:
    v = good.variants[2]
    case = v.load_cases[0]
    far = replace(case.checks[0], margin=11.0, met=True, id="far", what="far off")
    changed = replace(v, load_cases=(replace(case, checks=(far,)),))
    shown = words(plots.margins(replace(good, variants=(changed,)), 0))
    assert "1100.0\u00a0%" in shown


def test_onset_that_never_comes_is_said_and_not_marked(good: Results, ugly: Results) -> None:
    assert "none in range" in plots.opening(ugly).alt
    assert "no onset in range" in words(plots.clamp_plane(ugly, 1) or pytest.fail("no picture"))
    only = replace(good, variants=good.variants[:1])
    never = replace(ugly, variants=(sample.variant("n", onset=99.0),))
    mark = re.compile(r"<use [^>]*style=\"fill: var\(--paper")
    assert len(mark.findall(plots.opening(only).svg)) == 2  # the key and the curve
    assert len(mark.findall(plots.opening(never).svg)) == 1


def test_frame_alone_draws_its_cut_and_publishes_no_tilt(ugly: Results) -> None:
    assert "opening along the cut only" in words(plots.front(ugly, 2))
    assert "tilt not published" in words(plots.deformed(ugly, 2))


def test_lost_contact_is_hatched_and_full_contact_is_not(ugly: Results) -> None:
    drawn = (plots.clamp_plane(ugly, 0), plots.clamp_plane(ugly, 1))
    hatched = [len(re.findall(r"fill: url\(#", p.svg)) for p in drawn if p]
    assert hatched[0] > hatched[1] == 1  # the key alone


def test_closing_is_inside_the_colour_scale(good: Results) -> None:
    v = good.variants[0]
    closing = replace(v, shape=replace(v.shape, opening=v.shape.opening - 0.6))
    ticks = words(plots.front(replace(good, variants=(closing,)), 0)).split(" | ")
    assert {"−200", "−400"} & set(ticks)  # beyond the place axes


def test_faces_stand_in_the_order_of_x(good: Results) -> None:
    v = good.variants[1]
    shuffled = replace(v, faces=v.faces[::-1])
    picture = plots.clamp_plane(replace(good, variants=(shuffled,)), 0)
    assert picture is not None
    shown = words(picture)
    assert shown.index("leading end") < shown.index("centre") < shown.index("trailing end")


def test_bolts_carry_the_numbers_of_the_study(good: Results) -> None:
    picture = plots.bolt_force(good, 0)
    assert picture is not None
    assert "bolts 1, 3" in words(picture)
    assert "bolts 2, 4" in words(picture)
    assert "proof 56.3" in words(picture)


def test_labels_beside_each_other_keep_their_distance_and_order() -> None:
    out = canvas.apart([5.0, 1.0, 1.1, 1.2], gap=1.0)
    assert np.diff(sorted(out)).min() >= 1.0 - 1e-12
    assert np.argsort(out).tolist() == [1, 2, 3, 0]
    assert canvas.apart([0.0, 9.0], gap=1.0) == [0.0, 9.0]


def test_dollar_signs_in_names_are_not_formulas(good: Results) -> None:
    v = replace(good.variants[0], name="cheap: $x_1$")
    assert "$x_1$" in words(plots.opening(replace(good, variants=(v,))))


# --- colours: WCAG 2.1, W3C Recommendation 5 June 2018, relative luminance and contrast ratio; 1.4.3 and 1.4.11 ---


def luminance(colour: str) -> float:
    c = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(c <= 0.03928, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def scheme(dark: bool) -> dict[str, str]:
    css = (resources.files("stiffcalc.report") / "page.css").read_text(encoding="utf-8")
    light, after = css.split("prefers-color-scheme: dark", 1)
    return dict(re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6})", after if dark else light))


def test_contrast_formula_against_its_definition() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG 2.1, note to "contrast ratio"


@pytest.mark.parametrize("dark", [False, True])
def test_inks_stand_out_from_the_paper(dark: bool) -> None:
    c = scheme(dark)
    assert contrast(c["ink"], c["paper"]) >= 4.5
    assert contrast(c["soft"], c["paper"]) >= 4.5
    assert contrast(c["soft"], c["bg"]) >= 4.5
    assert contrast(c["bad"], c["bad-bg"]) >= 4.5
    assert contrast(c["ink"], c["caution"]) >= 4.5
    for k in range(1, 7):  # lines and, with paper as text, badges
        assert contrast(c[f"series-{k}"], c["paper"]) >= 4.5, k


def test_light_scheme_is_what_a_picture_alone_falls_back_to() -> None:
    light = scheme(dark=False)
    assert {name: colour for colour, name in canvas.PENS.items()}.items() <= light.items()


def test_field_colours_grow_steadily_lighter() -> None:
    """CIE 15 lightness L* of the map rises by even steps, so it survives grey print and colour blindness."""
    rgb = canvas.FIELD(np.linspace(0, 1, 11))[:, :3]
    Y = [luminance("#" + "".join(f"{round(255 * v):02x}" for v in row)) for row in rgb]
    L = np.array([116 * y ** (1 / 3) - 16 for y in Y])
    steps = np.diff(L)
    assert steps.min() > 0
    assert steps.max() < 1.5 * steps.min()
