"""One self-contained page: pictures before prose, cautions first and last, every check with formula and source."""

from __future__ import annotations

from importlib import resources

from stiffcalc.caliper.results import Results
from stiffcalc.report import blocks, cases, centre, choose, lives, plots, solids, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.frame import frame

WORST_SHOWN = 15

EXPLAINED = {
    "margins": "Each check at its worst load case, in words or by its letter (see above). Hatched bars to the left "
    "of the line are not met.",
    "waterfall": "The bolt that ends lowest over what its face needs. Bars from minimum to maximum preload, the tick "
    "is the nominal; beside each stage what moved the minimum, kN.",
    "clamp": "Highest load case, minimum preload, one pressure scale for all variants.",
    "steps": "Base, and of the others the one whose clamp plane opens first. Tightened: settled, 20 °C, no pressure; "
    "then every load case at its own temperature; minimum preload, one pressure scale.",
    "bolts": "Thick lines minimum and maximum preload, thin line nominal; the shaded band is the range of preload.",
    "front": "Highest load case, one scale for all variants. Numbered: bores. Dashed: bridges; dotted: the arch over "
    "the rotor's edge.",
    "deformed": "Highest load case. Dotted: unloaded. Half of the opening is drawn on each side.",
}


def render(results: Results, accuracy: str, *, corrected: str = "") -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against.

    corrected: a section of markup with figures corrected by readings.
    """
    pictures = plots.draw(results)
    here = resources.files("stiffcalc.report")
    cautions = _cautions(results)
    return frame("page.html").substitute(
        title=text(results.title),
        css=(here / "page.css").read_text(encoding="utf-8"),
        note=text(results.note),
        meta=text(
            f"stiffcalc {results.version} · study {results.sha256[:12]} · {len(results.variants)} variants"
        ),
        cautions=cautions,
        verdict=text(results.verdict),
        notices=blocks.bullets(results.notices, class_="notices") if results.notices else "",
        summary=_summary(results),
        shared=_shared(results, pictures),
        rows=_kinds(results, pictures),
        corrected=Html(corrected),
        centre=centre.section(results),
        solid=solids.section(results),
        life=lives.section(results),
        life_link=_life_link(results),
        worst=_worst(results),
        cases=Html("".join(cases.section(results, name) for name in cases.names(results))),
        accuracy=text(accuracy),
        defaults=_defaults(results),
        inputs=text("\n".join(blocks.lines_of(results.inputs))),
        axes=blocks.figure(pictures.axes, "Axes and signs"),
        glossary=_glossary(),
    )


def _cautions(results: Results) -> Html:
    return Html("".join(element("p", c) for c in results.cautions))


def _summary(results: Results) -> Html:
    """Variants side by side at their headline load case."""
    heads = [choose.headline(v) for v in results.variants]
    columns = ["", *(blocks.named(results, i) for i in range(len(heads)))]
    fitted = any(v.mass.fittings for v in results.variants)
    masses = [
        [
            cases.label(key),
            *(cases.shown(key, getattr(v.mass, key.partition(".")[2])) for v in results.variants),
        ]
        for key in ("mass.total", "mass.bolts", *(("mass.fittings",) if fitted else ()))
    ]
    rows: list[list[str | Html]] = [
        ["layout", *(v.layout for v in results.variants)],
        ["load case shown", *(words.case_title(c) for c in heads)],
        *masses,
        *cases.response_rows(heads),
        ["onset pressure, this case", *(choose.onset(c) for c in heads)],
        ["onset pressure, least through life", *(words.least_onset(c) for c in heads)],
        ["2 % of a face open, this case", *(words.first_part_open(c) for c in heads)],
        ["worst margin", *(_worst_of(results, i) for i in range(len(heads)))],
        ["checks not met", *(choose.missed(results, i) for i in range(len(heads)))],
    ]
    return blocks.table("Variants side by side", columns, rows, class_="numbers summary")


def _worst_of(results: Results, variant: int) -> Html:
    found = choose.findings(results, variant=variant)
    if not found:
        return Html("no checks")
    f = found[0]
    return Html(f"{blocks.margin(f)} {text(f.check.what)}, {text(f.case.name)}")


def _life_link(results: Results) -> Html:
    """The way to the bolts' lives, where there are any."""
    known = any(v.preload_life for v in results.variants)
    return Html(f"{element('a', 'Preload', href='#life')} ") if known else Html("")


def _shared(results: Results, pictures: plots.Pictures) -> Html:
    letters = choose.case_letters(results.variants)
    first = {c.name: c for v in reversed(results.variants) for c in reversed(v.load_cases)}
    key = blocks.case_key(letters, {name: first[name] for name in letters})
    figures = [blocks.figure(p, p.title) for p in pictures.shared]
    caption = element("figcaption", "Load cases, by the letters in the pictures")
    figures.insert(1, element("figure", caption, key))
    return element("div", *figures, class_="columns")


def _kinds(results: Results, pictures: plots.Pictures) -> Html:
    """Every kind of picture of single variants; the clamp plane step by step stands after the clamp plane."""
    sections = []
    for row in pictures.rows:
        sections.append(_row(results, row))
        if any(p is not None and p.id.startswith("clamp-") for p in row):
            sections.append(_steps(results, pictures.steps))
    return Html("".join(sections))


def _steps(results: Results, steps: tuple[plots.Picture, ...]) -> Html:
    cards = [blocks.figure(p, blocks.named(results, p.variant or 0)) for p in steps]
    return _kind(steps[0], cards) if cards else Html("")


def _kind(one: plots.Picture, cards: list[Html]) -> Html:
    return element(
        "section",
        element("h3", one.title),
        element("p", EXPLAINED[one.id.partition("-")[0]], class_="hint"),
        element("div", *cards, class_="row"),
        class_="kind",
    )


def _row(results: Results, row: tuple[plots.Picture | None, ...]) -> Html:
    """One kind of picture, a card a variant; what a variant does not have is said in words."""
    made = [p for p in row if p is not None]
    if not made:
        return Html("")
    cards = [
        blocks.figure(p, blocks.named(results, i))
        if p is not None
        else element(
            "figure",
            element("figcaption", blocks.named(results, i)),
            element(
                "p",
                "Not held: nothing to draw."
                if choose.jointed(results.variants[i])
                else "No joint face, no bolts along z.",
            ),
            class_="none",
        )
        for i, p in enumerate(row)
    ]
    return _kind(made[0], cards)


def _worst(results: Results) -> Html:
    found = choose.worst_of_each(results)
    shown = found[: max(WORST_SHOWN, sum(not f.check.met for f in found))]
    more = (
        f"{len(shown)} of {len(found)} checks, each at its worst load case; all stand under their load cases."
    )
    return Html(
        blocks.checks(results, shown, caption="Worst margins first") + element("p", more, class_="hint")
    )


def _defaults(results: Results) -> Html:
    if not results.defaults_used:
        return element("p", "None: the study states everything.")
    return blocks.bullets([element("code", d) for d in results.defaults_used], class_="plain")


def _glossary() -> Html:
    pairs = [Html(element("dt", word) + element("dd", meaning)) for word, meaning in words.GLOSSARY.items()]
    return element("dl", *pairs)
