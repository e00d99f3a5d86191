"""The page of drawn bodies: self-contained; the band and the probabilities first, then every check, what was drawn."""

from __future__ import annotations

from stiffcalc.explore.uncertainty_results import UncertaintyResult
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, near_page, uncertainty_plots, uncertainty_tables
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.near_page import section

TRUST = (
    "Monte Carlo with the batched frame, joint faces moving as planes; every body goes through tightening, settling, "
    "cold and heat, and through every check. The frame is multiplied by the front view's answer at this layout, check "
    "by check. A check that names a bolt or a place is that of the worst of its kind in every body. Causes are from a "
    "linear fit to all draws; what it does not explain is named."
)


def render(found: UncertaintyResult, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    sections = [
        section("band", "The band and the probabilities", _pictures(found), _bands(found)),
        section("causes", "What the scatter of the spread comes from", _causes(found)),
        section("checks", "Every check", _checks(found)),
        section("drawn", "What was drawn", blocks.bullets(found.assumptions, class_="plain")),
    ]
    return near_page.render(
        found,
        sections,
        overline="Uncertainty",
        about="what scatter does to",
        meta=uncertainty_tables.tally(found),
        trust=TRUST,
        accuracy=accuracy,
    )


def _pictures(found: UncertaintyResult) -> Html:
    drawn = (uncertainty_plots.band(found), uncertainty_plots.chances(found))
    return element("div", Html("".join(blocks.figure(p, p.title) for p in drawn)), class_="columns")


def _bands(found: UncertaintyResult) -> Html:
    head = ["figure", "this layout", "5 %", "50 %", "95 %", "standard deviation"]
    rows = (uncertainty_tables.band_line(n, k, b) for n, k, b in uncertainty_tables.bands(found))
    return blocks.table(f"Bands, {found.case}", head, rows, class_="numbers matrix")


def _causes(found: UncertaintyResult) -> Html:
    if not found.causes:
        return element("p", "Too few bodies to tell.", class_="prose")
    share = quantity("cause.variance_share")
    rows = [[c.cause, share.with_unit(c.variance_share)] for c in found.causes]
    rows.append(["not explained by a linear fit", share.with_unit(found.unexplained)])
    return blocks.table("Causes", ["cause", share.words], rows, class_="numbers matrix")


def _checks(found: UncertaintyResult) -> Html:
    p, margin = quantity("chance.probability"), quantity("margin")
    head = ["check", "load case", p.label, "95 % interval, %", "margin at this layout, %"]
    rows = [
        [c.what, c.case, p.text(c.probability), f"{p.text(c.low)} to {p.text(c.high)}", margin.text(c.margin)]
        for c in (found.every, *found.chances)
    ]
    return blocks.table("Probability of being met, least likely first", head, rows, class_="numbers matrix")
