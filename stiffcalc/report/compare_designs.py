"""The designs of layouts at equal mass as tables of the page: masses across, figures and dimensions down."""

from __future__ import annotations

from collections.abc import Callable

from stiffcalc.explore.compare_results import CompareResult, Curve, Point
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, compare_words
from stiffcalc.report.blocks import Html, element, text

Line = tuple[str, Callable[[Point], str | Html]]  # what a row is called, and its cell


def designs(result: CompareResult, i: int, c: Curve) -> Html:
    """One layout: what is not met in words, the table, then every limit in full."""
    title = element("h3", Html(f"{blocks.badge(i)} {text(c.name)}"))
    if all(p is None for p in c.points):
        said = f"No design of '{c.name}' that was asked about holds."
        return Html(title + element("p", said, class_="prose"))
    notes = Html("".join(element("p", n, class_="prose") for n in compare_words.notes(result, c)))
    return Html(title + notes + _table(result, c) + _limits(result, c))


def _table(result: CompareResult, c: Curve) -> Html:
    at = result.shown(c)
    head = ["within", *(compare_words.column(result, c, i) for i in at)]
    rows = [
        [name, *("–" if (p := c.points[i]) is None else cell(p) for i in at)]
        for name, cell in (*_figures(result, c), *_dimensions(c))
    ]
    return blocks.table(f"{c.name}: {c.pieces}", head, rows, class_="numbers across")


def _figures(result: CompareResult, c: Curve) -> list[Line]:
    spread, frame = quantity("spread"), quantity("spread_frame")
    stiffness = quantity("stiffness_per_mass")
    beside: list[Line] = [(frame.label, lambda p: frame.text(p.spread_frame))]
    return [
        (quantity("mass.total").label, lambda p: quantity("mass.total").text(p.mass)),
        (spread.label, lambda p: spread.text(p.spread)),
        *(beside if result.model != "frame" else []),
        (stiffness.label, lambda p: stiffness.text(p.stiffness_per_mass)),
        (quantity("onset_MPa").label, lambda p: compare_words.onset(c, p)),
        (quantity("worst_margin").label, _margin),
        ("check with that margin", lambda p: p.figures.governs),
    ]


def _margin(p: Point) -> str | Html:
    said = quantity("worst_margin").text(p.figures.worst_margin)
    return element("span", f"✕ {said} not met", class_="margin missed") if p.figures.unmet else said


def _dimensions(c: Curve) -> list[Line]:
    def cell(k: int) -> Callable[[Point], str | Html]:
        return lambda p: compare_words.dimension(c.free[k], p.keys[k])

    return [(f.name, cell(k)) for k, f in enumerate(c.free)]


def _limits(result: CompareResult, c: Curve) -> Html:
    said = [
        Html(element("b", compare_words.column(result, c, i)) + text(f": {_said(p)}"))
        for i in result.shown(c)
        if (p := c.points[i]) is not None
    ]
    summary = element("summary", "What limits each of these designs, in full")
    return element("details", summary, blocks.bullets(said, class_="plain"), class_="case")


def _said(p: Point) -> str:
    return "; ".join(f"{limit.kind}: {limit.what}" for limit in p.limits) or "nothing found"
