"""The page of a search for pockets: self-contained; the field first, then pockets, bodies side by side, checks."""

from __future__ import annotations

from stiffcalc.explore.pocket_results import Pockets
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, near_page, pocket_plots, pocket_tables
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.canvas import Picture
from stiffcalc.report.near_page import section

FIELD_HINT = (
    "Seen from the front, depth milled from the outer face. Feet of bridges dashed, heads and washers dotted, bores "
    "full lines. Under heads, behind feet and in what the study keeps nothing is milled; behind bores and a "
    "margin beside them only what the least floor allows, and no pocket lies over a bore."
)
BODIES_HINT = (
    "Opening at minimum preload, front view. Less: spread less than the even wall's of the same mass, mean over the "
    "load cases; below zero it is more. The two fields are read on the search's own mesh, beside the even wall on one "
    "as fine; the others as any assessment reads them."
)
TRUST = (
    "The field: optimality criteria on the front view, depth free over every triangle, slopes by the adjoint through "
    "both halves and the joint as it stands at each load case, for all load cases at once. Held meanwhile: the settled "
    "minimum preload of each case and the turning of floors' edges. Pockets: rectangles with sharp corners that cost "
    "least by the field's state, the best of several sets by the front view. A plate does not know that thickness "
    "needs some way to take hold beside a step: on the demo solids of even wall and proposal lay 12.7 % apart where "
    "the front view says 15.0 %. Notches at the pockets' edges are in no check."
)


def render(found: Pockets, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    *maps, search = pocket_plots.pictures(found)
    sections = [
        section("field", "Where the metal should be", _hint(FIELD_HINT), _figures(found, maps)),
        section("pockets", "Pockets", _pockets(found)),
        section(
            "bodies",
            "What they give",
            _hint(BODIES_HINT),
            _bodies(found),
            blocks.figure(search, search.title),
        ),
        section("checks", "Checks of the proposal", *_checks(found)),
    ]
    meta = f"{found.aim} · {found.case} · cutter {found.cutter:g} mm · rib {found.rib:g} mm"
    return near_page.render(
        found, sections, overline="Pockets", about="pockets of", meta=meta, trust=TRUST, accuracy=accuracy
    )


def _hint(words: str) -> Html:
    return element("p", words, class_="hint")


def _figures(found: Pockets, maps: list[Picture]) -> Html:
    per_half = len(maps) // len(found.halves)
    shown = []
    for i, picture in enumerate(maps):
        side = found.halves[i // per_half].side
        name = "each half" if side == "both" else f"{side} half"
        shown.append(blocks.figure(picture, f"{picture.title}, {name}"))
    return element("div", *shown, class_="pair")


def _pockets(found: Pockets) -> Html:
    head = ["pocket", "x, mm", "y, mm", "depth, mm"]
    table = blocks.table("Pockets from the outer face", head, pocket_tables.pocket_lines(found))
    said = [
        f"Corner radius {found.cutter / 2:g} mm (a cutter of {found.cutter:g} mm). The study file proposal.toml beside "
        "this page holds them as a variant, the even wall beside it."
    ]
    for h in found.halves:
        name = "Each half" if h.side == "both" else f"The {h.side} half"
        said.append(
            f"{name}: blank {h.thickness:g} mm thick, {h.floor:g} mm behind its bores; at least {h.least:g} mm of wall "
            f"and {h.least_floor:g} mm of floor stay."
        )
    return Html(table + blocks.bullets(said, class_="plain"))


def _bodies(found: Pockets) -> Html:
    q = [quantity(k).label for k in ("pocket.mass", "spread", "pocket.less", "here.tilt", "spread_frame")]
    rows = []
    for s in found.stages:
        name, *figures = pocket_tables.stage_line(s, found.case)
        rows.append([f"{name}: {s.words}", *figures])
    first = blocks.table(f"In '{found.case}'", ["body", *q], rows, class_="numbers matrix")
    cases = list(found.stages[0].spread)
    each = [[s.name, *(quantity("spread").text(s.spread[c]) for c in cases)] for s in found.stages]
    second = blocks.table("Spread in every load case, µm", ["body", *cases], each, class_="numbers matrix")
    return Html(first + second)


def _checks(found: Pockets) -> list[Html]:
    lines = list(pocket_tables.unmet(found))
    text = "Every check is met." if not lines else f"{len(lines)} not met, worst first:"
    shown = [element("p", text, class_="prose")]
    if lines:
        shown.append(blocks.bullets(lines, class_="plain"))
    if found.validity:
        shown.append(element("p", "Outside what the models were compared with:", class_="prose"))
        shown.append(blocks.bullets(found.validity, class_="plain"))
    return shown
