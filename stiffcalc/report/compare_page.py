"""The page of layouts at equal mass: self-contained, the answer first, then curves, limits, designs, differences."""

from __future__ import annotations

from importlib import resources

from stiffcalc.explore.compare_results import CompareResult, Curve, Point, kg
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, compare_designs, compare_plots, compare_tables, compare_words, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.frame import frame

WORDS = ("bridge", "clamp plane", "spread", "onset pressure", "margin", "frame", "front view")
CURVE_HINT = (
    "Each point is the design of least spread within that mass which meets every check; each curve begins, with a "
    "hollow mark, at the layout's lightest design that meets every check. Bars: twice the standard "
    "uncertainty that does not fall out of a difference between layouts of one metal. Point at a mark to read what it "
    "is."
)
LIMIT_HINT = (
    "Lightest: the layout's lightest design that meets every check (the study's own limits of spread and mass apart), "
    "and what is active within that mass. "
    "What is active at each point: mass = all of it is used; envelope = a free dimension at an end of its range; "
    "room = a rule of the study file is about to be broken; others = a check with a margin below 2 %; spread limit or "
    "mass limit not met = beyond the study's own limit, which the curve explores. In brackets: no design meets every "
    "check there."
)
DESIGN_HINT = (
    "Opening and onset at minimum preload. Dimensions are rounded here. Where some layout meets its checks, a study "
    "file in this folder has them in full: the base as drawn and the layouts at that mass as variants, to be assessed "
    "side by side."
)


def render(result: CompareResult, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    here = resources.files("stiffcalc.report")
    return frame("compare.html").substitute(
        title=text(f"{result.title}: layouts at equal mass"),
        css=(here / "page.css").read_text(encoding="utf-8"),
        note=text(result.note),
        meta=text(
            f"stiffcalc {result.version} · study {result.sha256[:12]} · {len(result.curves)} layouts · "
            f"{kg(result.masses[0])} to {kg(result.masses[-1])} kg · seed {result.seed}"
        ),
        cautions=Html("".join(element("p", c) for c in result.cautions)),
        verdict=text(result.verdict),
        counted=text(compare_tables.counted(result)),
        notices=blocks.bullets(result.notices, class_="notices"),
        curve_hint=text(CURVE_HINT),
        pictures=_pictures(result),
        limit_hint=text(LIMIT_HINT),
        limits=Html(_limits(result) + blocks.bullets(result.limited, class_="plain")),
        design_hint=text(DESIGN_HINT),
        designs=Html("".join(compare_designs.designs(result, i, c) for i, c in enumerate(result.curves))),
        free=_free(result),
        crossings=_crossings(result),
        gaps=_gaps(result),
        assumptions=blocks.bullets(result.assumptions),
        accuracy=text(accuracy),
        validity=_validity(result),
        defaults=blocks.bullets([element("code", d) for d in result.defaults_used], class_="plain"),
        inputs=text("\n".join(blocks.lines_of(result.inputs))),
        glossary=element("dl", *(Html(element("dt", w) + element("dd", words.GLOSSARY[w])) for w in WORDS)),
    )


def _pictures(result: CompareResult) -> Html:
    if not any(compare_plots.met(c) for c in result.curves):
        return element("p", "No layout meets its checks at any mass: there is nothing to draw.")
    drawn = [p for p in (compare_plots.spread(result), compare_plots.stiffness(result)) if p is not None]
    return Html("".join(blocks.figure(p, p.title) for p in drawn))


def _named(i: int, curve: Curve) -> Html:
    return Html(f"{blocks.badge(i)} {text(curve.name)}")


def _limits(result: CompareResult) -> Html:
    """Layouts down, its own lightest and the masses asked for across."""
    head = ["layout", "lightest", *(f"{kg(m)} kg" for m in result.targets)]
    at = [result.masses.index(m) for m in result.targets]
    rows: list[list[str | Html]] = [
        [_named(i, c), _lightest(result, c), *(_cell(c.points[k]) for k in at)]
        for i, c in enumerate(result.curves)
    ]
    return blocks.table("Active limits", head, rows, class_="numbers across")


def _lightest(result: CompareResult, c: Curve) -> str:
    """Where a layout begins, and what it is limited by there."""
    if c.lightest is None:
        return "none" if c.start is None else f"at most {kg(result.masses[c.start])} kg"
    named = "" if c.begin is None else f": {compare_words.limited(c.begin)}"
    return f"{quantity('mass.total').with_unit(c.lightest)}{named}"


def _cell(p: Point | None) -> str:
    if p is None:
        return "none holds"
    named = compare_words.limited(p)
    return named if p.meets else f"({named})"


def _free(result: CompareResult) -> Html:
    rows: dict[tuple[str, str, str, str], list[str]] = {}
    for c in result.curves:
        for f in c.free:
            rows.setdefault((f.name, f.low, f.high, ", ".join(f.paths)), []).append(c.name)
    table = blocks.table(
        "Free dimensions",
        ["dimension", "from", "to", "sets", "layouts"],
        [
            [n, low, high, element("code", paths), ", ".join(own)]
            for (n, low, high, paths), own in rows.items()
        ],
        class_="numbers matrix",
    )
    return element("details", element("summary", "Free dimensions and their ranges"), table, class_="case")


def _crossings(result: CompareResult) -> Html:
    if not result.crossings:
        return element("p", "No two curves cross where both layouts meet their checks.", class_="prose")
    rows = [
        [
            f"{c.crossing_mass:.2f}",
            f"{c.between[0]:.2f} to {c.between[1]:.2f}",
            c.first,
            c.second,
            "yes" if c.told else "no",
        ]
        for c in result.crossings
    ]
    head = ["near, kg", "between, kg", "better below", "better above", "told apart beside it"]
    return blocks.table("Crossings", head, rows, class_="numbers matrix")


def _gaps(result: CompareResult) -> Html:
    if not result.gaps:
        return element("p", "No two layouts meet their checks at one mass.", class_="prose")
    rows = [
        [
            f"{g.first} → {g.second}",
            f"{g.budget:.2f}",
            quantity("gap.difference").text(g.difference),
            quantity("gap.uncertainty").text(g.uncertainty),
            "yes" if g.apart else "no",
        ]
        for g in result.gaps
    ]
    head = ["layouts", "mass, kg", "spread, second less first, µm", "u, µm", "told apart"]
    table = blocks.table("Two layouts at one mass", head, rows, class_="numbers matrix")
    return element(
        "details", element("summary", f"All {len(rows)} differences"), table, class_="case", open="open"
    )


def _validity(result: CompareResult) -> Html:
    """Sentences that travel with the designs shown, with the layouts they belong to."""
    found: dict[str, dict[str, None]] = {}
    for c in result.curves:
        for p in c.points:
            for sentence in p.figures.validity if p is not None else ():
                found.setdefault(sentence, {})[c.name] = None
    return blocks.bullets(f"{', '.join(names)}: {sentence}" for sentence, names in found.items())
