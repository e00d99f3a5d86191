"""The page's section for one load case: every number of every variant, both models, joints, bolts, checks, validity."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from stiffcalc.caliper.results import CaseResult, Results
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, joints, words
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.choose import Finding

Row = list[str | Html]
FLUID_KEYS = ("floors", "bore_walls", "pads", "fluid", "total")
QUALITY_KEYS = ("residual", "equilibrium", "energy")


def names(results: Results) -> list[str]:
    """Load cases in the order they first appear."""
    return list(dict.fromkeys(c.name for v in results.variants for c in v.load_cases))


def label(key: str) -> str:
    """Row heading of a quantity."""
    return quantity(key).label


def shown(key: str, value: float | None) -> str:
    """Cell text of a quantity."""
    return quantity(key).text(value)


def response_rows(cases: Sequence[CaseResult]) -> list[Row]:
    """The response of one case a column, both models' spread beside each other."""
    return [
        *(["spread, " + m + ", µm", *(_spread(c, m) for c in cases)] for m in ("front view", "frame")),
        _row("tilt_middle", cases, lambda c: c.tilt_middle, missing="not published"),
        _row("yaw", cases, lambda c: c.yaw),
        _row("bow", cases, lambda c: c.bow),
        _row("fluid.total", cases, lambda c: getattr(c.fluid, "total", None)),
        _row("stiffness_kN_per_mm", cases, lambda c: c.stiffness_kN_per_mm),
        _row("stiffness_per_mass", cases, lambda c: c.stiffness_per_mass),
    ]


def _row(
    key: str, cases: Sequence[CaseResult], value: Callable[[CaseResult], float | None], *, missing: str = "–"
) -> Row:
    cells = [value(c) for c in cases]
    return [label(key), *(missing if v is None else shown(key, v) for v in cells)]


def _spread(case: CaseResult, model: str) -> str | Html:
    """A model's spread; the one the figures come from stands out."""
    answer = case.models.get(model)
    if case.spread is None:
        return "not held"
    if answer is None:
        return "not run"
    text = shown("spread", answer.spread)
    return element("b", text) if case.model == model else text


def section(results: Results, name: str) -> Html:
    """Everything about one load case, folded."""
    columns = [(i, c) for i, v in enumerate(results.variants) for c in v.load_cases if c.name == name]
    found = [Finding(i, c, k) for i, c in columns for k in c.checks]
    missed = sum(not f.check.met for f in found)
    tally = f"{len(found)} checks, " + (f"✕ {missed} not met" if missed else "all met")
    return element(
        "details",
        element("summary", words.case_title(columns[0][1]), " ", element("span", tally, class_="tally")),
        _numbers(results, columns),
        *_contributions(results, columns),
        *joints.section(columns),
        *_validity(columns),
        blocks.checks(results, _sorted(found), caption=f"Checks of {name}, worst first", one_case=True),
        class_="case",
    )


def _sorted(found: list[Finding]) -> list[Finding]:
    return sorted(found, key=lambda f: f.check.order)


def _head(results: Results, columns: Sequence[tuple[int, CaseResult]]) -> list[str | Html]:
    return ["", *(blocks.named(results, i) for i, _ in columns)]


def _numbers(results: Results, columns: Sequence[tuple[int, CaseResult]]) -> Html:
    cases = [c for _, c in columns]
    rows = [
        _row("clamp_force", cases, lambda c: c.clamp_force),
        ["figures from", *(c.model for c in cases)],
        *response_rows(cases),
        _row("opening_max", cases, lambda c: c.opening_max),
        _row("middle", cases, lambda c: c.middle),
        *_bore_rows(cases),
        *(_row(f"fluid.{k}", cases, lambda c, k=k: getattr(c.fluid, k, None)) for k in FLUID_KEYS[:-1]),  # type: ignore[misc]
        *_quality_rows(cases),
    ]
    return blocks.table("Response", _head(results, columns), rows)


def _bore_rows(cases: Sequence[CaseResult]) -> Iterator[Row]:
    for k in range(max(len(c.by_bore) for c in cases)):
        for model in ("front view", "frame"):
            cells = [c.models[model].by_bore if model in c.models else () for c in cases]
            yield [
                f"opening of bore {k + 1}, {model}, µm",
                *(shown("by_bore", b[k]) if k < len(b) else "–" for b in cells),
            ]
        tilts = [c.tilt_by_bore or () for c in cases]
        yield [
            f"tilt of bore {k + 1}, mrad",
            *(shown("tilt_by_bore", t[k]) if k < len(t) else "–" for t in tilts),
        ]


def _quality_rows(cases: Sequence[CaseResult]) -> Iterator[Row]:
    """How well each solve closed, relative."""
    for model in ("front view", "frame"):
        for key in QUALITY_KEYS:
            cells = [getattr(c.models[model], key) if model in c.models else None for c in cases]
            yield [f"{quantity(key).words}, {model}", *(shown(key, v) for v in cells)]


def _contributions(results: Results, columns: Sequence[tuple[int, CaseResult]]) -> Iterator[Html]:
    parts = list(dict.fromkeys(k for _, c in columns for k in c.contributions))
    rows: list[Row] = [
        [p, *(shown("contributions", c.contributions.get(p)) for _, c in columns)] for p in parts
    ]
    rows.append(["sum = spread", *(element("b", shown("spread", c.spread)) for _, c in columns)])
    yield blocks.table("Contributions to the spread, µm", _head(results, columns), rows)


def _validity(columns: Sequence[tuple[int, CaseResult]]) -> Iterator[Html]:
    said = [Html(f"{blocks.badge(i)} {blocks.text(s)}") for i, c in columns for s in c.validity]
    if said:
        yield element("h3", "Outside a model's range")
        yield blocks.bullets(said, class_="notices")
