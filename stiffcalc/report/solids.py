"""Load cases by the 3-D solid beside the front view, in tables: for the page, the terminal and other tools."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stiffcalc.caliper.results import Results, SolidCase
from stiffcalc.quantities import Quantity, quantity
from stiffcalc.report import blocks
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.sheets import Cell

NOTABLE_N = 400.0  # by which bolt forces are known to agree while half of a joint touches
HINT = (
    "20 °C, settled, minimum preload; both halves as 3-D solids on a grid, their faces in contact. Of bores and bolts "
    "the greatest figure stands here; solids.csv has each. Onset pressure: the solid's is the one that is judged. "
    "Openings and bolt stresses are judged by the front view. Random bodies against finer solids: onset within 10 %, "
    "bolt forces within 0.25 kN, opening 1 to 3 % low, more where bores are small for the grid's cells or floors thin."
)
PAIRS = (("onset", "plate_onset"), ("by_bore", "plate_by_bore"), ("bolt_increment", "plate_bolt_increment"))
KEYS = (*(key for pair in PAIRS for key in pair), "touching")
HEADS = ("onset, MPa", "opening, µm", "bolts, kN", "touching, %")  # of the terminal, in narrow columns


def section(results: Results) -> Html:
    """Every load case of every variant that was solved as a solid; nothing where none was."""
    table = [
        [Html(f"{blocks.badge(i)} {blocks.text(_case(c))}"), *(blocks.text(_shown(c, key)) for key in KEYS)]
        for i, v in enumerate(results.variants)
        for c in v.solid
    ]
    if not table:
        return Html("")
    head = ["load case", *(_quantity(key).label for key in KEYS)]
    return element(
        "section",
        element("h2", "By the 3-D solid", id="solid"),
        blocks.table("3-D solid beside the front view", head, table),
        element("p", HINT, class_="hint"),
        *(element("p", line) for line in remarks(results)),
        aria_labelledby="solid",
    )


def _quantity(key: str) -> Quantity:
    return quantity(f"solid.{key}")


def _case(c: SolidCase) -> str:
    return f"{c.name}, {_quantity('pressure').with_unit(c.pressure)}"


def _shown(c: SolidCase, key: str) -> str:
    """A figure as shown, of several the greatest."""
    value = getattr(c, key)
    return _quantity(key).text(max(value) if isinstance(value, tuple) else value)


def values(c: SolidCase) -> list[str]:
    """The figures of one row of the terminal: the solid's, then the front view's."""
    return [*(", ".join(_shown(c, key) for key in pair) for pair in PAIRS), _shown(c, "touching")]


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
    """Every bore's opening and every bolt's force for other tools, stored units; bores and bolts numbered from 1."""
    yield [
        "variant",
        "load_case",
        _quantity("pressure").column,
        "figure",
        "index",
        "unit",
        "solid",
        "front_view",
    ]
    for v in results.variants:
        for c in v.solid:
            for figure, index, *pair in _figures(c):
                yield [v.name, c.name, c.pressure, figure, index, _quantity(figure).unit, *pair]


def _figures(c: SolidCase) -> Iterator[tuple[str, Cell, Cell, Cell]]:
    """Key, number of bore or bolt, the solid's, the front view's."""
    yield "onset", "", c.onset, c.plate_onset
    for key, plate in PAIRS[1:]:
        for k, pair in enumerate(zip(getattr(c, key), getattr(c, plate), strict=True)):
            yield key, k + 1, *pair
    yield "touching", "", c.touching, ""
