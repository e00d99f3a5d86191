"""The page of slopes: self-contained; tornados first, then every dimension, the front view's steps, the closed form."""

from __future__ import annotations

from collections.abc import Iterable

from stiffcalc.explore.sensitivity_results import Formula, Sensitivities, Slope
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, near_page, sensitivity_plots, sensitivity_tables, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.near_page import section

FIGURES = sensitivity_tables.FIGURES
TORNADO_HINT = (
    "Change for a step up by the unit beside the name, largest first; blue is for the better, red for the worse. "
    "Hatched with a question mark: the worst margin changes unlike upward and downward."
)
TABLE_HINT = (
    "Opening at minimum preload in the load case named above; the worst margin is that of the check that governs here. "
    "g/µm: mass paid for a micrometre of spread taken away; below zero, both fall together."
)
TRUST = (
    "Central differences of the batched frame over 0.002 of each dimension, all designs in one batch, joint faces "
    "moving as planes. The last column says how far the spread's slope moves at half the step. The frame is multiplied "
    "by the front view's answer at this layout; what is left between slope and front view is in the table of its own "
    "steps."
)
FORMULA_HINT = (
    "Castigliano: forces F = F_p + My F_1 + N_c F_2 + M_c F_3 on a half; the end bridge's My and the centre bridge's N "
    "and Mx are the redundants. delta is the work of one system of forces on the movements of another, kappa that on "
    "the curvature by pressure on the bores' walls, gamma the inverse of the redundants' delta. d is the distortion of "
    "the wall's section, which no beam has, as a number."
)
DERIVATIVE_HINT = (
    "X = −gamma (delta_Xp + kappa_X) and X' = −gamma delta_Xp are stationary, so that only the elements move: "
    "ds = (2 / A) (1, X') (d delta (1, X) + d kappa). Elements that move with:"
)


def render(found: Sensitivities, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    sections = [
        section("tornado", "What a unit changes", _hint(TORNADO_HINT), _pictures(found)),
        section("slopes", "Every dimension", _hint(TABLE_HINT), _slopes(found), _marks(found)),
    ]
    if found.confirmed:
        sections.append(section("front", "Beside the front view's own steps", _confirmed(found)))
    sections.append(section("formula", "In closed form", *_closed(found)))
    meta = f"{found.case}, {found.pressure:g} MPa · {found.model} · {len(found.slopes)} dimensions"
    return near_page.render(
        found, sections, overline="Slopes", about="slopes of", meta=meta, trust=TRUST, accuracy=accuracy
    )


def _hint(words: str) -> Html:
    return element("p", words, class_="hint")


def _pictures(found: Sensitivities) -> Html:
    shown = "".join(blocks.figure(p, p.title) for p in sensitivity_plots.pictures(found))
    return element("div", Html(shown), class_="columns")


def _slopes(found: Sensitivities) -> Html:
    labels = [quantity(f"slope.{k}").label for k in FIGURES]
    head = ["dimension", "path", "value", "per", *labels, quantity("slope.step_change").label]
    return blocks.table("Slopes", head, (_row(s) for s in found.slopes), class_="numbers matrix")


def _row(s: Slope) -> list[str | Html]:
    name, per, *figures = sensitivity_tables.line(s)
    carries = f" (with {', '.join(s.carries)})" if s.carries else ""
    path = Html(element("code", s.path) + text(carries))
    change = quantity("slope.step_change").text(s.step_change)
    return [name, path, words.measured(s.value, s.unit), per, *figures, change]


def _marks(found: Sensitivities) -> Html:
    return blocks.bullets(sensitivity_tables.marks(found), class_="plain")


def _confirmed(found: Sensitivities) -> Html:
    head = ["dimension", "per", "frame times rho, µm", "front view, µm", "remeshing noise, µm", "apart, %"]
    rows = (sensitivity_tables.confirmed_line(c) for c in found.confirmed)
    table = blocks.table("The largest slopes", head, rows, class_="numbers matrix")
    return Html(table + element("p", sensitivity_tables.noise(found), class_="prose"))


def _closed(found: Sensitivities) -> list[Html]:
    """The portal, or why there is none."""
    f = found.formula
    if f is None:
        why = f"No closed form is printed for this layout: {found.no_formula}. "
        scope = "It is for one-piece bodies of equal halves, mirrored, without pockets, with one to three bores a side."
        return [element("p", why + scope, class_="prose")]
    q = quantity("formula.portal")
    said = (
        f"The closed form gives {q.with_unit(f.portal)}, the batched frame {q.with_unit(f.frame)} "
        f"({quantity('moved').with_unit(f.portal / f.frame - 1.0)} apart)."
    )
    return [
        element("p", said, class_="prose"),
        _hint(FORMULA_HINT),
        _maths("The formula", f.lines),
        _hint(DERIVATIVE_HINT),
        _maths("Derivatives", f.derivatives),
        _numbers(f),
    ]


def _maths(title: str, lines: Iterable[tuple[str, str]]) -> Html:
    items = [
        element(
            "li",
            element("span", said, class_="hint"),
            blocks.scroll(element("div", Html(maths), style="padding: 0.5em"), said),
        )
        for said, maths in lines
    ]
    inner = Html(f"{element('summary', title)}{element('ul', *items, class_='plain')}")
    return element("details", inner, class_="case")


def _numbers(f: Formula) -> Html:
    q = quantity("formula.slopes")
    rows = [
        [name, f.words[name], f"{f.values[name]:.4g}".replace("-", "−"), q.text(by)]
        for name, by in sorted(f.slopes.items(), key=lambda item: -abs(item[1]))
        if f.values[name] != 0.0
    ]
    head = ["symbol", "what it is", "value", q.label]
    return blocks.table("What the spread owes to each symbol", head, rows, class_="numbers matrix")
