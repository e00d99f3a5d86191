"""Load cases by the 3-D solid beside the front view, in tables: for the page, the terminal and other tools."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stiffcalc.caliper.results import Results, SolidCase
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.sheets import Cell

NOTABLE_N = 400.0  # by which bolt forces are known to agree while half of a joint touches
HINT = (
    "20 °C, settled, minimum preload; both halves as 3-D solids on a grid, their faces in contact. Onset pressure: the "
    "solid's is the one that is judged. Openings and bolt stresses are judged by the front view. Random bodies against "
    "finer solids: onset within 10 %, bolt forces within 0.2 kN, opening 2 to 4 % low."
)
HEADS = ("onset, MPa", "opening, µm", "bolts, kN", "touching, %")


def section(results: Results) -> Html:
    """Every load case of every variant that was solved as a solid; nothing where none was."""
    table = [
        [Html(f"{blocks.badge(i)} {blocks.text(_case(c))}"), *(blocks.text(v) for v in values(c))]
        for i, v in enumerate(results.variants)
        for c in v.solid
    ]
    if not table:
        return Html("")
    head = [
        "load case",
        f"{quantity('onset_MPa').label}: solid, front view",
        f"{quantity('opening_max').label}: solid, front view",
        "greatest bolt force beyond preload, kN: solid, front view",
        "share of the joint in contact, %",
    ]
    return element(
        "section",
        element("h2", "By the 3-D solid", id="solid"),
        blocks.table("3-D solid and front view", head, table),
        element("p", HINT, class_="hint"),
        *(element("p", line) for line in remarks(results)),
        aria_labelledby="solid",
    )


def _case(c: SolidCase) -> str:
    return f"{c.name}, {quantity('pressure').with_unit(c.pressure)}"


def values(c: SolidCase) -> list[str]:
    """The figures of one row as shown: the solid's, then the front view's."""
    onset, opening = quantity("onset_MPa"), quantity("opening_max")
    bolts = [f"{1e-3 * max(v):.2f}" for v in (c.bolt_increment, c.plate_bolt_increment)]
    return [
        f"{onset.text(c.onset)}, {onset.text(c.plate_onset)}",
        f"{opening.text(max(c.by_bore))}, {opening.text(max(c.plate_by_bore))}",
        ", ".join(bolts),
        f"{100.0 * c.touching:.0f}",
    ]


def remarks(results: Results) -> list[str]:
    """Where bolt forces differ by more than they are known to."""
    return [
        f"{v.name}, {_case(c)}: a bolt's force differs by {1e-3 * c.bolts_differ:.1f} kN between solid and front view; "
        "the checks use the front view's, so trust the solid's where it is greater."
        for v in results.variants
        for c in v.solid
        if c.bolts_differ > NOTABLE_N
    ]


def lines(results: Results) -> list[list[str]]:
    """Rows of a small table for the terminal, its heading first; empty where nothing was solved as a solid."""
    found = [[f"[{i + 1}] {_case(c)}", *values(c)] for i, v in enumerate(results.variants) for c in v.solid]
    return [["solid, front view", *HEADS], *found] if found else []


def rows(results: Results) -> Iterator[Sequence[Cell]]:
    """Every bore's opening and every bolt's force for other tools, stored units."""
    yield [
        "variant",
        "load_case",
        quantity("pressure").column,
        "figure",
        "index",
        "unit",
        "solid",
        "front_view",
    ]
    for v in results.variants:
        for c in v.solid:
            place: tuple[Cell, ...] = (v.name, c.name, c.pressure)
            yield [*place, "onset", "", "MPa", c.onset, c.plate_onset]
            for figure, unit, solid, plate in (
                ("opening of bore", "mm", c.by_bore, c.plate_by_bore),
                ("bolt force beyond preload", "N", c.bolt_increment, c.plate_bolt_increment),
            ):
                for k, pair in enumerate(zip(solid, plate, strict=True)):
                    yield [*place, figure, k + 1, unit, *pair]
            yield [*place, "share in contact", "", "", c.touching, ""]
