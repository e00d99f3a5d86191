"""The page of a sizing: self-contained; history and dimensions first, then limits, sections, unmet checks, the way."""

from __future__ import annotations

from dataclasses import replace

from stiffcalc.caliper.section_results import SectionResult
from stiffcalc.explore.size_results import SizeResult
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, near_page, section_plots, section_tables, size_plots, size_tables
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.near_page import section

LIMITS_HINT = (
    "Use: actual over allowed, at the worst place, on an adaptive mesh of its own at the start and at the sized "
    "dimensions. Checks of an assessment that the start meets are limits too, unless hold_checks = false: actual over "
    "allowed or needed over actual, 1 - margin where missed. Active: 98 % and more, where a dimension's range reaches "
    "the limit."
)
WAY_HINT = (
    "Round: full response and adaptive meshes. Step: where slopes were taken. Trial: within a step. Uses of steps and "
    "trials are those of the moving mesh times what the round's adaptive mesh corrects it by; of checks with the 0.2 % "
    "that the search keeps clear."
)
PICTURES_HINT = (
    "Von Mises stress in the state that uses the metal most; red where heads press; one scale of colours. Below, the "
    "largest stress at the fillet in the state that loads the fillet most, which may be another one."
)
TRUST = (
    "Sections carry N and Mx of each bridge, in plane stress. Bending of the wall in plan, floors, seals and the joint "
    "enter by the checks of an assessment alone; a check that the start misses holds nothing. A minimum found from one "
    "start is a local one."
)


def render(found: SizeResult, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    sections = [
        section("way", "What it came to", _pictures(found), _dimensions(found)),
        section("limits", "What holds it", element("p", LIMITS_HINT, class_="hint"), _limits(found)),
        section("sections", "The sections before and after", *_sections(found)),
        section("unmet", "Checks of an assessment", _unmet(found)),
        section("history", "Every design on the way", element("p", WAY_HINT, class_="hint"), _history(found)),
    ]
    meta = f"{found.rounds} rounds, {len(found.history)} designs · forces from the {found.model}"
    return near_page.render(
        found,
        sections,
        overline="Section sizing",
        about="least mass of",
        meta=meta,
        trust=" ".join((TRUST, *found.how)),
        accuracy=accuracy,
    )


def _pictures(found: SizeResult) -> Html:
    drawn = (size_plots.history(found), size_plots.ranges(found))
    return element("div", Html("".join(blocks.figure(p, p.title) for p in drawn)), class_="columns")


def _dimensions(found: SizeResult) -> Html:
    head = ["dimension", "low, mm", "high, mm", "start, mm", "sized, mm", "held by"]
    rows = []
    for d in found.dimensions:
        _, *cells = size_tables.dimension_line(d)
        paths = Html(", ".join(element("code", p) for p in d.paths))
        rows.append([paths, *cells])
    q = quantity("size.mass")
    masses = ["mass, kg", "", "", q.text(found.start_mass), q.text(found.end_mass), ""]
    return blocks.table("Dimensions and mass", head, [*rows, masses], class_="numbers matrix")


def _limits(found: SizeResult) -> Html:
    rows = []
    for h in found.limits:
        words, start, end = size_tables.limit_line(h)
        rows.append([words, start, end, "active" if h.active else ""])
    head = ["limit", "use at the start, %", "use, sized, %", ""]
    first = blocks.table("The most used limits", head, rows[: size_tables.SHOWN], class_="numbers matrix")
    rest = blocks.table("The others", head, rows[size_tables.SHOWN :], class_="numbers matrix")
    more = element("details", element("summary", f"{len(rows)} limits in all"), rest, class_="case")
    return Html(first + more if len(rows) > size_tables.SHOWN else first)


def _sections(found: SizeResult) -> list[Html]:
    """Stress before and after, and what the peaks rest on."""
    parts = [element("p", PICTURES_HINT, class_="hint")]
    for i, (a, b) in enumerate(zip(found.before, found.after, strict=True), start=1):
        top = max(a.drawing.top, b.drawing.top)
        pictures = [_picture(s, top, f"{i}-{word}", word) for s, word in ((a, "start"), (b, "sized"))]
        parts += [element("h3", section_tables.title(b)), element("div", *pictures, class_="columns")]
        said = [
            f"{word}: {s.trust.sentence}."
            for s, word in ((a, "Fillet at the start, section alone"), (b, "Fillet as sized, section alone"))
            if s.trust
        ]
        parts.append(blocks.bullets(said))
    return parts


def _picture(s: SectionResult, top: float, id: str, word: str) -> Html:
    what = f"the section through {section_tables.title(s)}, {word}"
    drawn = section_plots.stress(replace(s.drawing, top=top), what=what, id=f"size-{id}", peak=None)
    return blocks.figure(drawn, f"{drawn.title}, {word}")


def _unmet(found: SizeResult) -> Html:
    if not found.unmet:
        return element("p", f"All {found.checks} checks by the {found.model} are met.", class_="prose")
    q = quantity("margin")
    rows = [
        [
            u.what,
            u.case,
            q.text(u.margin),
            size_tables.NO_START if u.start_margin is None else q.text(u.start_margin),
        ]
        for u in found.unmet
    ]
    head = ["check", "load case", "margin, %", "margin at the start, %"]
    return blocks.table(
        f"Not met, of {found.checks} by the {found.model}", head, rows, class_="numbers matrix"
    )


def _history(found: SizeResult) -> Html:
    q, use = quantity("size.mass"), quantity("size.use")
    head = [
        "design",
        "round",
        "kind",
        *(p for d in found.dimensions for p in d.paths[:1]),
        q.label,
        use.label,
    ]
    rows = [
        [
            str(i),
            str(s.round),
            size_tables.kind(s),
            *(f"{v:.3f}" for v in s.x),
            q.text(s.mass),
            use.text(s.worst_use),
            Html(text("; ".join((size_tables.worst_words(s), *s.notes)))),
        ]
        for i, s in enumerate(found.history, start=1)
    ]
    table = blocks.table("History", [*head, "the limit used most"], rows, class_="numbers matrix")
    return element("details", element("summary", f"{len(rows)} designs"), table, class_="case")
