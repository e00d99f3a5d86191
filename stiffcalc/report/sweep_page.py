"""The page of a sweep: self-contained, the answer first, then the choice, its keys and what governs."""

from __future__ import annotations

from importlib import resources

import numpy as np

from stiffcalc.explore.sweep_chunk import BETWEEN, decoded
from stiffcalc.explore.sweep_results import Best, SweepResult
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, sweep_plots, sweep_tables, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.frame import frame
from stiffcalc.study.schema import SweepKey

MOST_LISTED = 100  # designs of the front on the page; the CSV file marks all
WORDS = ("bridge", "clamp plane", "spread", "onset pressure", "margin", "frame", "front view")
FIGURES = ("spread", "onset_MPa", "worst_margin")
BEST_HINT = (
    "Frame / front view where both ran, and then in the front view's order. Opening and onset at minimum preload. Each "
    "is a study file in this folder: the study with the design as a variant, to be assessed beside the base."
)
FRONT_HINT = (
    "Front: no other feasible design is as good in mass, spread and worst margin and better in one of them. Point at a "
    "ringed design to read what it is."
)
NEAREST = "None meets every check: the nearest, largest worst margin first"
NO_FRONT = (
    "No design meets every check, so there is no front; colours show by how much each misses its worst check, nearest "
    "the brightest."
)


def render(result: SweepResult, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    here = resources.files("stiffcalc.report")
    plan = result.plan
    return frame("sweep.html").substitute(
        title=text(f"{result.title}: sweep of '{plan.layout}'"),
        css=(here / "page.css").read_text(encoding="utf-8"),
        note=text(result.note),
        meta=text(
            f"stiffcalc {result.version} · study {result.sha256[:12]} · {result.tally.designs} designs, "
            f"{sweep_tables.how(result)} · aim: {plan.aim}"
        ),
        cautions=Html("".join(element("p", c) for c in result.cautions)),
        verdict=text(result.verdict),
        tally=text(sweep_tables.tally(result)),
        best=_best(result),
        best_hint=text(BEST_HINT),
        notices=blocks.bullets(result.notices, class_="notices"),
        front_hint=text(_front_hint(result)),
        pictures=_pictures(result),
        front=_front(result),
        keys=blocks.table(
            "Keys", ["key", "tried", "sets"], [_key(k) for k in plan.keys], class_="numbers matrix"
        ),
        refused=_refused(result),
        accuracy=text(accuracy),
        validity=_validity(result),
        defaults=blocks.bullets([element("code", d) for d in result.defaults_used], class_="plain"),
        inputs=text("\n".join(blocks.lines_of(result.inputs))),
        glossary=element("dl", *(Html(element("dt", w) + element("dd", words.GLOSSARY[w])) for w in WORDS)),
    )


def _front_hint(result: SweepResult) -> str:
    if not result.tally.evaluated:
        return ""
    return (FRONT_HINT if result.tally.feasible else NO_FRONT) + _left_out(result)


def _left_out(result: SweepResult) -> str:
    if result.tally.evaluated <= sweep_plots.MOST_POINTS:
        return ""
    return f" At most {sweep_plots.MOST_POINTS} designs of each kind are drawn, evenly taken; the files have all."


def _best(result: SweepResult) -> Html:
    if not result.best:
        return element("p", "No design was taken out.")
    head = [
        "rank: design",
        "mass, kg",
        *(quantity(k).label for k in FIGURES),
        *(k.name for k in result.plan.keys),
    ]
    rows = [_best_row(b) for b in result.best]
    caption = f"The best by {result.plan.aim}" if result.tally.feasible else NEAREST
    return blocks.table(caption, [*head, "governs"], rows, class_="numbers matrix")


def _best_row(b: Best) -> list[str | Html]:
    cells: list[str | Html] = [sweep_tables.both(b, key) for key in FIGURES]
    if b.figures.unmet:
        cells[-1] = element("span", f"✕ {cells[-1]} not met", class_="margin missed")
    mass = quantity("mass.total").text(b.mass_kg)
    governs = f"{b.figures.governs}{f'; {b.note}' if b.note else ''}"
    return [f"{b.rank}: design {b.design}", mass, *cells, *b.keys, governs]


def _pictures(result: SweepResult) -> Html:
    if not len(result.solved):
        return element("p", "No design could be evaluated: there is nothing to draw.")
    drawn = [sweep_plots.mass_against_spread(result), sweep_plots.governs(result)]
    drawn += [sweep_plots.parallel(result)] if result.best or result.tally.feasible else []
    return Html("".join(blocks.figure(p, p.title) for p in drawn))


def _front(result: SweepResult) -> Html:
    """Designs of the front, lightest first."""
    rows = result.front
    if not len(rows):
        return Html("")
    listed = sweep_plots.some(rows, MOST_LISTED)
    more = (
        ""
        if len(listed) == len(rows)
        else f", {len(listed)} of {len(rows)} evenly taken; the CSV file marks all"
    )
    head = [
        "design",
        "mass, kg",
        *(quantity(k).label for k in FIGURES),
        *(k.name for k in result.plan.keys),
        "governs",
    ]
    table = blocks.table(
        "The front, lightest first", head, [_point(result, int(r)) for r in listed], class_="numbers matrix"
    )
    return element(
        "details", element("summary", f"The front: {len(rows)} designs{more}"), table, class_="case"
    )


def _point(result: SweepResult, row: int) -> list[str | Html]:
    c = result.columns
    figures = zip(
        ("mass.total", *FIGURES), ("mass_kg", "spread_mm", "onset_MPa", "worst_margin"), strict=True
    )
    numbers = [quantity(key).text(float(c[column][row])) for key, column in figures]
    return [str(int(c["design"][row])), *numbers, *result.words(row), result.said("governs", row)]


def _key(key: SweepKey) -> list[str | Html]:
    if not key.levels:
        tried = f"{key.low:g} to {key.high:g}"
    elif len(key.levels) > 8:
        tried = f"{key.levels[0].label} to {key.levels[-1].label}, {len(key.levels)} places"
    else:
        tried = ", ".join(level.label for level in key.levels)
    sets = (*key.paths, *(f"minus {p}" for p in key.minus)) or tuple(
        dict.fromkeys(p for level in key.levels for p in level.changes)
    )
    return [key.name, tried, element("code", ", ".join(sets))]


def _refused(result: SweepResult) -> Html:
    if not result.reasons:
        return element("p", "No design was refused by the rules of the study file.", class_="prose")
    rows: list[list[str | Html]] = [[str(n), what] for what, n in result.reasons[:20]]
    return blocks.table(
        "Why designs were refused: the first fault of each",
        ["designs", "where: asked"],
        rows,
        class_="numbers matrix",
    )


def _validity(result: SweepResult) -> Html:
    """Sentences that travel with the evaluated designs, each with how many it belongs to."""
    found: dict[str, int] = {}
    codes = np.bincount(
        np.asarray(result.columns["validity"])[result.solved], minlength=len(result.columns["validity_texts"])
    )
    for said, count in zip(map(decoded, result.columns["validity_texts"]), codes, strict=True):
        for sentence in said.split(BETWEEN) if said and count else ():
            found[sentence] = found.get(sentence, 0) + int(count)
    most = sorted(found.items(), key=lambda item: -item[1])[:20]
    return blocks.bullets(f"{n} of {result.tally.evaluated} designs: {sentence}" for sentence, n in most)
