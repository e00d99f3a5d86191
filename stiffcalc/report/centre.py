"""What centre bridges are worth, in tables: for the page, the terminal and other tools."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stiffcalc.caliper.results import CentreBridge, Results
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.sheets import Cell

KEYS = ("mass_kg", "bow", "spread", "tilt_middle", "mass_per_bow")
HEADS = ("mass, kg", "bow, µm", "spread, µm", "tilt, mrad", "g/µm")  # of the terminal, in narrow columns
HINT = (
    "The same body without the bridge, with it in one piece with both halves (of a two-piece body: what a bolted one "
    "can reach at most), and as given. Service case of highest pressure, settled, minimum preload. Mass per bow "
    "removed: what bridge and bolts add to the total, over the bow they take away."
)


def section(results: Results) -> Html:
    """Every centre bridge of every variant; nothing where there is none."""
    rows = [
        [_label(i, b), *(blocks.text(v) for v in values(b))]
        for i, v in enumerate(results.variants)
        for b in v.centre_bridges
    ]
    if not rows:
        return Html("")
    head = ["bridge, form", *(quantity(k).label for k in KEYS)]
    return element(
        "section",
        element("h2", "What the centre bridge is worth", id="centre"),
        blocks.table("Centre bridges: without, in one piece, as given", head, rows),
        element("p", HINT, class_="hint"),
        aria_labelledby="centre",
    )


def _label(variant: int, b: CentreBridge) -> Html:
    text = f"{b.bridge}, {b.form}"
    shown = element("b", text, " (as given)") if b.given else blocks.text(text)
    return Html(f"{blocks.badge(variant)} {shown}")


def values(b: CentreBridge) -> list[str]:
    """The figures of one row as shown."""
    return [quantity(k).text(getattr(b, k)) for k in KEYS]


def lines(results: Results) -> list[list[str]]:
    """Rows of a small table for the terminal, its heading first; empty where there is no centre bridge."""
    found = [
        [f"[{i + 1}]{'*' if b.given else ''} {b.bridge}, {b.form}", *values(b)]
        for i, v in enumerate(results.variants)
        for b in v.centre_bridges
    ]
    return [["* as given", *HEADS], *found] if found else []


def rows(results: Results) -> Iterator[Sequence[Cell]]:
    """Every form of every centre bridge for other tools, stored units."""
    yield ["variant", "bridge", "form", "given", "load_case", *(quantity(k).column for k in KEYS)]
    for v in results.variants:
        for b in v.centre_bridges:
            place = [v.name, b.bridge, b.form, str(b.given).lower(), b.load_case]
            yield [*place, *(getattr(b, k) for k in KEYS)]
