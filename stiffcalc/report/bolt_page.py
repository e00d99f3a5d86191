"""The page of a matrix of bolts: self-contained, the answer first, every combination with its figures or its reason."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources

from stiffcalc.explore.bolt_results import BoltMatrix, Row
from stiffcalc.explore.bolt_rules import RULES
from stiffcalc.explore.bolt_verdict import name
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, bolt_plots, bolt_tables, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.frame import frame

MOST_LISTED = 600  # rows on the page; the CSV file has all
WORDS = ("bridge", "clamp plane", "spread", "onset pressure", "margin", "frame", "front view")
HEAD = ("rank: bolts, placed, row shift in mm", "mass, kg", "torque, N·m")
FIGURES = ("spread", "onset_MPa", "worst_margin", "fatigue_margin")
PLACING = (
    "As drawn: the study's own bolts, moved by the row shift. Placed: the mean of each bridge's bolts keeps to the "
    "drawn one plus the row shift; of the arrangements tried that keep every rule, the one is taken whose joint opens "
    "last by the frame, at its worst stage of life with the weakest grade tried. One size and grade for "
    "all bolts that are varied."
)
BEST_HINT = (
    "Frame / front view where both ran; the order of the best ten is the front view's. Opening and onset at minimum "
    "preload."
)
MATRIX_HINT = (
    "Figures of the frame, its joint faces moving as planes, one colour scale for all. Hatched: refused, by the letter "
    "of the rule. ✕: at least one check of a load case is not met by the frame; the front view, asked of the best ten "
    "in the table above, may miss more."
)


def render(matrix: BoltMatrix, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    here = resources.files("stiffcalc.report")
    return frame("bolts.html").substitute(
        title=text(f"{matrix.title}: bolts of '{matrix.layout}'"),
        css=(here / "page.css").read_text(encoding="utf-8"),
        note=text(matrix.note),
        meta=text(
            f"stiffcalc {matrix.version} · study {matrix.sha256[:12]} · {len(matrix.rows)} combinations · "
            f"aim: {matrix.aim}"
        ),
        cautions=Html("".join(element("p", c) for c in matrix.cautions)),
        verdict=text(matrix.verdict),
        tally=text(bolt_tables.tally(matrix)),
        best=_best(matrix),
        best_hint=text(BEST_HINT),
        notices=blocks.bullets(matrix.notices, class_="notices") if matrix.notices else "",
        matrix_hint=text(MATRIX_HINT),
        pictures=_pictures(matrix),
        takeover=_takeover(matrix),
        tightening=text(matrix.tightening),
        placing=text(PLACING),
        rules=_rules(matrix),
        all_title=text(_all_title(matrix)),
        all=_all(matrix),
        accuracy=text(accuracy),
        validity=_validity(matrix),
        defaults=blocks.bullets([element("code", d) for d in matrix.defaults_used], class_="plain"),
        inputs=text("\n".join(blocks.lines_of(matrix.inputs))),
        glossary=element("dl", *(Html(element("dt", w) + element("dd", words.GLOSSARY[w])) for w in WORDS)),
    )


def _best(matrix: BoltMatrix) -> Html:
    """The best ten and the study's own bolts."""
    best = [r for r in matrix.rows if r.rank is not None][: bolt_tables.SHOWN]
    if not best:
        return element("p", "No combination could be evaluated.")
    rows = best if any(r.own for r in best) else [*best, matrix.own]
    head = [*HEAD, *(quantity(k).label for k in FIGURES), "governs"]
    lines = [[*_start(r), *_figures(r), bolt_tables.governs(r)] for r in rows]
    return blocks.table(_order(best, matrix.aim), head, lines, class_="numbers matrix")


def _order(best: Sequence[Row], aim: str) -> str:
    """What the table of the best is ordered by: the aim counts among those that meet every check."""
    meeting = sum(r.figures is not None and r.figures.unmet == 0 for r in best)
    if not meeting:
        return "The nearest, largest worst margin first: none meets every check"
    rest = "" if meeting == len(best) else "; those that miss a check follow, largest worst margin first"
    return f"The best by {aim}{rest}"


def _start(row: Row) -> list[str | Html]:
    rank = f"{row.rank}: " if row.rank else ""
    placed = "the study's own" if row.own else bolt_tables.PLACED[row.drawn]
    moved = f", {bolt_tables.shift(row.row_shift)}" if row.row_shift else ""
    return [
        f"{rank}{bolt_tables.pattern(row)} {row.thread} {row.grade}, {placed}{moved}",
        quantity("mass.total").text(row.mass.total if row.mass else None),
        quantity("torque_Nm").text(row.torque_Nm),
    ]


def _figures(row: Row) -> list[str | Html]:
    """Figures of both models; a worst margin that is not met is marked by shape and word."""
    cells: list[str | Html] = [bolt_tables.both(row, key) for key in FIGURES]
    if row.figures and row.figures.unmet:
        cells[FIGURES.index("worst_margin")] = element(
            "span", f"✕ {bolt_tables.both(row, 'worst_margin')} not met", class_="margin missed"
        )
    return cells


def _pictures(matrix: BoltMatrix) -> Html:
    maps = [bolt_plots.heat_map(matrix, p) for p in bolt_plots.panels(matrix)]
    pictures = [bolt_plots.mass_against_onset(matrix), *maps]
    return Html("".join(blocks.figure(p, p.title) for p in pictures))


def _takeover(matrix: BoltMatrix) -> Html:
    """The best combination as a variant to paste into the study."""
    best = next((r for r in matrix.rows if r.rank == 1), None)
    if best is None or best.own:
        return element("p", "Nothing to take over: the study's own bolts stand.")
    found = best.figures
    missed = f" It misses {found.unmet} of {found.checks} checks." if found and found.unmet else ""
    add = "Add to the study file and assess it beside the others:"
    say = f"{name(best)}, {bolt_tables.arrangement(best)}.{missed} {add}"
    block = bolt_tables.variant(best, name=f"{name(best)} (found)")
    return Html(element("p", say, class_="prose") + element("pre", block, tabindex="0"))


def _rules(matrix: BoltMatrix) -> Html:
    """Every rule with its source, and how many combinations it refused."""
    counts = {key: sum(r.refused is not None and r.refused.rule == key for r in matrix.rows) for key in RULES}
    rows = [
        [rule.letter, rule.broken, str(counts[key]), rule.asks, rule.source] for key, rule in RULES.items()
    ]
    head = ["letter", "broken", "refused", "asks", "source"]
    return blocks.table("Rules of the places", head, rows, class_="numbers matrix")


def _all_title(matrix: BoltMatrix) -> str:
    shown = min(len(matrix.rows), MOST_LISTED)
    more = "" if shown == len(matrix.rows) else "; the CSV file has all"
    return f"{shown} of {len(matrix.rows)} combinations in order of rank, refused ones last{more}"


def _all(matrix: BoltMatrix) -> Html:
    head = [*HEAD, *(quantity(k).label for k in FIGURES), "arrangement", "governs, or why refused"]
    rows = [
        [*_start(r), *_figures(r), bolt_tables.arrangement(r), _last(r)] for r in matrix.rows[:MOST_LISTED]
    ]
    return blocks.table("Every combination", head, rows, class_="numbers matrix")


def _last(row: Row) -> str:
    return f"refused: {row.refused.text}" if row.refused else bolt_tables.governs(row)


def _validity(matrix: BoltMatrix) -> Html:
    """Sentences that travel with the best ten, each with the ranks it belongs to."""
    best = [r for r in matrix.rows if r.rank is not None][: bolt_tables.SHOWN]
    said: dict[str, list[str]] = {}
    for r in best:
        for sentence in r.figures.validity if r.figures else ():
            said.setdefault(sentence, []).append(str(r.rank))
    return blocks.bullets(_ranks(ranks, sentence, len(best)) for sentence, ranks in said.items())


def _ranks(ranks: Sequence[str], sentence: str, count: int) -> str:
    who = "the best ten" if len(ranks) == count else f"rank {', '.join(ranks)}"
    return f"{who}: {sentence}"
