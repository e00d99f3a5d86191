"""Results as text: a table for the terminal and CSV tables for other tools. Plain characters, no colour codes."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence

from stiffcalc.caliper.results import MASSES, CaseResult, Results, VariantResult
from stiffcalc.quantities import quantity
from stiffcalc.report import centre, choose, joints, lives, solids, words
from stiffcalc.report.sheets import Cell, csv_text

LABEL, LEAST, GAP = 28, 13, 2  # characters: row labels, narrowest column, between columns
WORST_SHOWN = 10
Line = Sequence[str]


def terminal(results: Results, width: int = 100) -> str:
    """Variants side by side, worst margins first, the verdict and the cautions; at most `width` (80 or more) columns.

    Raises ValueError for a width below 80.
    """
    if width < 80:
        raise ValueError(f"a table needs 80 columns, {width} were given")
    blocks = [
        _wrap(results.title, width),
        *(_side_by_side(results, group, width) for group in _groups(len(results.variants), width)),
        _worst(results, width),
        *_lives(results, width),
        *_centre(results),
        *_solids(results, width),
        _wrap(results.verdict, width),
        *([_wrap(f"Note: {n}", width) for n in results.notices]),
        "\n".join(_wrap(f"Caution: {c}", width) for c in results.cautions),
    ]
    return "\n\n".join(blocks) + "\n"


def _wrap(text: str, width: int, indent: str = "") -> str:
    return textwrap.fill(
        " ".join(text.split()), width, initial_indent=indent, subsequent_indent=indent or "  "
    )


def _groups(count: int, width: int) -> list[range]:
    """Variants that fit beside each other, in even groups."""
    fit = max(1, (width - LABEL) // (LEAST + GAP))
    tables = math.ceil(count / fit)
    size = math.ceil(count / tables)
    return [range(i, min(i + size, count)) for i in range(0, count, size)]


def _side_by_side(results: Results, group: range, width: int) -> str:
    variants = [results.variants[i] for i in group]
    cases = [choose.headline(v) for v in variants]
    column = min(30, (width - LABEL) // len(group) - GAP)
    names = [f"{i + 1} {v.name}" for i, v in zip(group, variants, strict=True)]
    rows = [
        ["load case", *(words.case_title(c) for c in cases)],
        ["layout", *(v.layout for v in variants)],
        *_figures(variants, cases),
        ["worst margin", *(_worst_margin(results, i) for i in group)],
        ["checks not met", *(choose.missed(results, i) for i in group)],
    ]
    head = _cells(["", *names], column)
    return "\n".join(
        [
            *head,
            "-" * min(width, LABEL + (column + GAP) * len(group)),
            *(x for r in rows for x in _cells(r, column)),
        ]
    )


def _figures(variants: Sequence[VariantResult], cases: Sequence[CaseResult]) -> list[Line]:
    return [
        _row("mass.total", [v.mass.total for v in variants]),
        ["spread, front view, µm", *(_spread(c, "front view") for c in cases)],
        ["spread, frame, µm", *(_spread(c, "frame") for c in cases)],
        _row("tilt_middle", [c.tilt_middle for c in cases], missing="not published"),
        _row("yaw", [c.yaw for c in cases]),
        _row("bow", [c.bow for c in cases]),
        _row("fluid.total", [getattr(c.fluid, "total", None) for c in cases]),
        ["stiffness, kN/mm", *(quantity("stiffness_kN_per_mm").text(c.stiffness_kN_per_mm) for c in cases)],
        _row("stiffness_per_mass", [c.stiffness_per_mass for c in cases]),
        ["onset pressure, this case", *(choose.onset(c) for c in cases)],
        ["onset, least through life", *(words.least_onset(c) for c in cases)],
        ["2 % of a face open, this case", *(words.first_part_open(c) for c in cases)],
    ]


def _row(key: str, values: Iterable[float | None], *, missing: str = "–") -> Line:
    q = quantity(key)
    return [q.label, *(missing if v is None else q.text(v) for v in values)]


def _spread(case: CaseResult, model: str) -> str:
    answer = case.models.get(model)
    if case.spread is None:
        return "not held"
    return "not run" if answer is None else quantity("spread").text(answer.spread)


def _worst_margin(results: Results, variant: int) -> str:
    found = choose.findings(results, variant=variant)
    return f"{words.margin(found[0].check)} {found[0].check.what}" if found else "no checks"


def _cells(row: Line, column: int) -> list[str]:
    """One table row as lines: the label, then columns, each wrapped to its width."""
    widths = [LABEL - GAP, *([column] * (len(row) - 1))]
    cells = [textwrap.wrap(t, w) or [""] for t, w in zip(row, widths, strict=True)]
    lines = max(len(c) for c in cells)
    return [
        (" " * GAP)
        .join((c[k] if k < len(c) else "").ljust(w) for c, w in zip(cells, widths, strict=True))
        .rstrip()
        for k in range(lines)
    ]


def _worst(results: Results, width: int) -> str:
    found = choose.worst_of_each(results)
    shown, missed = found[:WORST_SHOWN], sum(not f.check.met for f in found)
    lines = [
        f"Worst margins first ({len(shown)} of {len(found)} checks, each at its worst load case; {missed} not met)"
    ]
    for f in shown:
        c = f.check
        mark = "   " if c.met else "!! "
        figures = f"{words.number(c.actual)} against {words.measured(c.allowed, c.unit)}"
        text = f"[{f.variant + 1}] {c.what}, {f.case.name}: {figures}" + ("" if c.met else ", NOT MET")
        lines.append(
            textwrap.fill(
                text, width, initial_indent=f"{mark}{words.margin(c):>8}  ", subsequent_indent=" " * 17
            )
        )
    return "\n".join(lines)


def _lives(results: Results, width: int) -> list[str]:
    found = [_wrap(line, width) for line in lives.terminal(results)]
    return (
        ["\n".join(["Preload through life without pressure, minimum to maximum, kN", *found])]
        if found
        else []
    )


def _centre(results: Results) -> list[str]:
    found = [line for row in centre.lines(results) for line in _cells(row, 8)]
    return ["\n".join(["Centre bridge: without, in one piece, as given", *found])] if found else []


def _solids(results: Results, width: int) -> list[str]:
    found = [line for row in solids.lines(results) for line in _cells(row, 11)]
    if not found:
        return []
    remarks = [_wrap(r, width) for r in solids.remarks(results)]
    return ["\n".join(["3-D solid beside the front view, 20 °C, minimum preload", *found, *remarks])]


def csv_files(results: Results) -> dict[str, str]:
    """File name -> CSV text: a header with units, stored units throughout, `inf` for an onset that never comes."""
    return {
        "openings.csv": csv_text(_openings(results)),
        "checks.csv": csv_text(_checks(results)),
        "sweep.csv": csv_text(_sweep(results)),
        "joints.csv": csv_text(joints.joint_rows(results)),
        "ports.csv": csv_text(joints.port_rows(results)),
        "bolts.csv": csv_text(_bolts(results)),
        "preload_life.csv": csv_text(lives.rows(results)),
        "centre_bridges.csv": csv_text(centre.rows(results)),
        "solids.csv": csv_text(solids.rows(results)),
        "masses.csv": csv_text(_masses(results)),
    }


def _columns(*keys: str) -> list[str]:
    return [quantity(k).column for k in keys]


CASE = ["variant", "load_case"]
OPENING_KEYS = (
    "clamp_force",
    "spread",
    "opening_max",
    "middle",
    "bow",
    "tilt_middle",
    "yaw",
    "stiffness_kN_per_mm",
    "stiffness_per_mass",
)
FLUID_KEYS = ("floors", "bore_walls", "pads", "fluid", "total")


def _cases(results: Results) -> Iterable[tuple[VariantResult, CaseResult]]:
    return ((v, c) for v in results.variants for c in v.load_cases)


def _openings(results: Results) -> Iterable[Sequence[Cell]]:
    bores = max((len(c.by_bore) for _, c in _cases(results)), default=0)
    parts = list(dict.fromkeys(k for _, c in _cases(results) for k in c.contributions))
    yield [
        *CASE,
        "kind",
        quantity("pressure").column,
        "model",
        *_columns(*OPENING_KEYS),
        "spread_front_view_mm",
        "spread_frame_mm",
        *(f"opening_bore_{k + 1}_mm" for k in range(bores)),
        *(f"tilt_bore_{k + 1}_mrad" for k in range(bores)),
        *_columns(*(f"fluid.{k}" for k in FLUID_KEYS)),
        *(f"contribution_{p.replace(' ', '_')}_mm" for p in parts),
    ]
    for v, c in _cases(results):
        models = [c.models[m].spread if m in c.models else None for m in ("front view", "frame")]
        yield [
            v.name,
            c.name,
            c.kind,
            c.pressure,
            c.model,
            *(getattr(c, k) for k in OPENING_KEYS),
            *models,
            *_padded(c.by_bore, bores),
            *_padded(c.tilt_by_bore or (), bores),
            *(getattr(c.fluid, k, None) for k in FLUID_KEYS),
            *(c.contributions.get(p) for p in parts),
        ]


def _padded(values: Sequence[float], count: int) -> list[float | None]:
    return [*values, *([None] * (count - len(values)))]


def _checks(results: Results) -> Iterable[Sequence[Cell]]:
    yield [*CASE, "id", "what", "actual", "allowed", "unit", "margin", "met", "formula", "source", "note"]
    for v, case in _cases(results):
        for c in case.checks:
            yield [
                v.name,
                case.name,
                c.id,
                c.what,
                c.actual,
                c.allowed,
                c.unit,
                c.margin,
                str(c.met).lower(),
                c.formula,
                c.source,
                c.note,
            ]


PRELOADS = {1: ("",), 3: ("minimum", "nominal", "maximum")}


def _sweep(results: Results) -> Iterable[Sequence[Cell]]:
    bolts = max((v.sweep.bolt_force.shape[-1] for v in results.variants), default=0)
    bridges = max((v.sweep.open_fraction.shape[-1] for v in results.variants), default=0)
    yield [
        "variant",
        "preload",
        *_columns("pressure", "spread", "spread_frame"),
        *(f"bolt_force_{j + 1}_N" for j in range(bolts)),
        *(f"open_fraction_{b + 1}" for b in range(bridges)),
    ]
    for v in results.variants:
        s = v.sweep
        for k, preload in enumerate(PRELOADS[len(s.spread)]):
            for i, p in enumerate(s.pressure):
                yield [
                    v.name,
                    preload,
                    float(p),
                    float(s.spread[k, i]),
                    float(s.spread_frame[k, i]),
                    *_padded([float(f) for f in s.bolt_force[k, i]], bolts),
                    *_padded([float(f) for f in s.open_fraction[k, i]], bridges),
                ]


BOLT_KEYS = ("preload_min", "preload_nominal", "preload_max", "force", "force_max", "amplitude")


def _bolts(results: Results) -> Iterable[Sequence[Cell]]:
    yield [*CASE, "bridge", "bolt", *_columns(*BOLT_KEYS)]
    for v, c in _cases(results):
        for j in c.joints:
            for b in j.bolts:
                yield [v.name, c.name, j.bridge, b.index, *(getattr(b, k) for k in BOLT_KEYS)]


def _masses(results: Results) -> Iterable[Sequence[Cell]]:
    yield [
        "variant",
        "layout",
        *_columns(*(f"mass.{k}" for k in MASSES), "mass.volume_mm3"),
        *(f"centre_of_mass_{a}_mm" for a in "xyz"),
    ]
    for v in results.variants:
        yield [
            v.name,
            v.layout,
            *(getattr(v.mass, k) for k in MASSES),
            v.mass.volume_mm3,
            *map(float, v.mass.centre_of_mass),
        ]
