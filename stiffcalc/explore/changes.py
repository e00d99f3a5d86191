"""Two studies side by side: inputs that differ, figures that moved, checks that flipped, what to do again."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass

from stiffcalc.caliper.assess import CAUTIONS, LEFT_OUT, Progress, assess, silent
from stiffcalc.caliper.joint_results import plain
from stiffcalc.caliper.results import CaseResult, Check, VariantResult
from stiffcalc.explore.redo import Redo, redo
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.quantities import quantity
from stiffcalc.study.identity import layout_sha256
from stiffcalc.study.schema import Study
from stiffcalc.version import __version__

THRESHOLD = 2.0  # %
STIFFNESS = ("stiffness_kN_per_mm", "stiffness_per_mass")


@dataclass(frozen=True)
class InputChange:
    """One input of the files as written; a value that one of them leaves out is None."""

    path: str
    a: object
    b: object


@dataclass(frozen=True)
class Moved:
    """One figure that moved; None where a side does not have it."""

    variant: str
    case: str  # "" for a figure of the whole layout
    what: str
    key: str  # row of `stiffcalc.quantities`
    a: float | None
    b: float | None
    moved: float | None  # b / a - 1; None where one of them is missing


@dataclass(frozen=True)
class Flip:
    """One check that is met in one study and not in the other, or not met where the other does not have it."""

    variant: str
    case: str
    what: str
    a: Check | None
    b: Check | None


@dataclass(frozen=True)
class Changes:
    """What differs between two studies A and B."""

    titles: tuple[str, str]
    sha256: tuple[str, str]
    version: str
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    threshold: float  # %
    inputs: tuple[InputChange, ...]
    same: tuple[str, ...]  # variants of both whose body is the same
    only: tuple[tuple[str, ...], tuple[str, ...]]  # variants that one of them has
    moved: tuple[Moved, ...]  # most first
    compared: int  # figures
    flips: tuple[Flip, ...]
    redo: tuple[Redo, ...]

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists."""
        return {
            "format": 1,
            "tool": {"name": "stiffcalc", "version": self.version},
            "studies": [{"title": t, "sha256": s} for t, s in zip(self.titles, self.sha256, strict=True)],
            "cautions": list(self.cautions),
            "notices": list(self.notices),
            "threshold_percent": self.threshold,
            "inputs": [{"path": i.path, "a": plain(i.a), "b": plain(i.b)} for i in self.inputs],
            "variants": {
                "same_body": list(self.same),
                "only_a": list(self.only[0]),
                "only_b": list(self.only[1]),
            },
            "figures_compared": self.compared,
            "moved": [
                {**{k: plain(v) for k, v in asdict(m).items()}, "unit": quantity(m.key).unit}
                for m in self.moved
            ],
            "flipped": [
                {
                    "variant": f.variant,
                    "load_case": f.case,
                    "check": f.what,
                    "a": _check(f.a),
                    "b": _check(f.b),
                }
                for f in self.flips
            ],
            "redo": [
                {
                    "changed": r.rule.changed,
                    "paths": list(r.paths),
                    "redo": list(r.rule.redo),
                    "why": r.rule.why,
                }
                for r in self.redo
            ],
        }


def _check(check: Check | None) -> dict[str, object] | None:
    return None if check is None else {"met": check.met, "margin": plain(check.margin)}


def compare_studies(
    a: Study,
    b: Study,
    *,
    threshold: float = THRESHOLD,
    front_view: bool = True,
    progress: Progress = silent,
) -> Changes:
    """Assess both and compare variants of the same name; `threshold` in percent. Raises as `assess`."""
    missing = unavailable() if front_view else LEFT_OUT
    first, second = (
        {v.name: v for v in assess(s, front_view=front_view, progress=progress).variants} for s in (a, b)
    )
    both = [n for n in first if n in second]
    compared = [m for n in both for m in _moves(first[n], second[n])]
    bodies = [{d.name: layout_sha256(d) for d in s.designs} for s in (a, b)]
    inputs = tuple(input_changes(a.source, b.source))
    return Changes(
        titles=(a.title, b.title),
        sha256=(a.sha256, b.sha256),
        version=__version__,
        cautions=CAUTIONS,
        notices=(missing,) if missing else (),
        threshold=threshold,
        inputs=inputs,
        same=tuple(n for n in both if bodies[0][n] == bodies[1][n]),
        only=(tuple(n for n in first if n not in second), tuple(n for n in second if n not in first)),
        moved=tuple(sorted((m for m in compared if _counts(m, threshold / 100)), key=_most_first)),
        compared=len(compared),
        flips=tuple(f for n in both for f in _flips(first[n], second[n])),
        redo=redo(i.path for i in inputs),
    )


def input_changes(a: Mapping[str, object], b: Mapping[str, object]) -> Iterator[InputChange]:
    """Inputs that differ, in the order of the first file, then of the second."""
    first, second = dict(leaves(a)), dict(leaves(b))
    for path in dict.fromkeys((*first, *second)):
        if first.get(path) != second.get(path):
            yield InputChange(path, first.get(path), second.get(path))


def leaves(source: object, path: str = "") -> Iterator[tuple[str, object]]:
    """Dotted path and value of every entry; entries of a list of tables by their names, else counted from [1]."""
    if isinstance(source, Mapping) and source:
        for key, value in source.items():
            yield from leaves(value, f"{path}.{key}" if path else str(key))
    elif isinstance(source, list) and source and all(isinstance(v, Mapping) for v in source):
        for i, value in enumerate(source, start=1):
            yield from leaves(value, f"{path}[{_name(value) or i}]")
    else:
        yield path, source


def _name(table: Mapping[str, object]) -> str:
    name = table.get("name")
    return f'"{name}"' if isinstance(name, str) else ""


def figures(variant: VariantResult) -> Iterator[tuple[str, str, str, float | None]]:
    """Load case ("" for the whole layout), words, key of the quantity and value of every figure that is compared."""
    for part in ("total", "body", "bolts", "fittings"):
        yield "", f"mass, {part}", f"mass.{part}", getattr(variant.mass, part)
    for case in variant.load_cases:
        for what, key, value in _case_figures(case):
            yield case.name, what, key, value


def _case_figures(c: CaseResult) -> Iterator[tuple[str, str, float | None]]:
    for key in ("clamp_force", "spread", "opening_max", "middle", "bow", "tilt_middle", "yaw", *STIFFNESS):
        yield quantity(key).words, key, getattr(c, key)
    for key, values in (("by_bore", c.by_bore), ("tilt_by_bore", c.tilt_by_bore or ())):
        for i, value in enumerate(values, start=1):
            yield f"{quantity(key).words} {i}", key, value
    for part in ("total", "floors", "bore_walls", "pads", "fluid"):
        yield quantity(f"fluid.{part}").words, f"fluid.{part}", getattr(c.fluid, part, None)
    for joint in c.joints:
        for key in ("onset_MPa", "open_fraction", "face_pressure_max_MPa", "face_pressure_min_MPa"):
            yield f"{quantity(key).words}, {joint.bridge}", key, getattr(joint, key)
        for bolt in joint.bolts:
            for key in ("preload_min", "preload_max", "force", "force_max", "amplitude"):
                yield f"{quantity(key).words}, bolt {bolt.index}", key, getattr(bolt, key)


def _moves(a: VariantResult, b: VariantResult) -> Iterator[Moved]:
    """Every figure that at least one of them has, moved or not."""
    first, second = ({(case, what, key): v for case, what, key, v in figures(x)} for x in (a, b))
    for case, what, key in dict.fromkeys((*first, *second)):
        old, new = (side.get((case, what, key)) for side in (first, second))
        if old is not None or new is not None:
            yield Moved(a.name, case, what, key, old, new, _share(old, new))


def _share(a: float | None, b: float | None) -> float | None:
    """b / a - 1; infinite from or to a figure that is unbounded or nothing."""
    if a is None or b is None:
        return None
    if a == b:
        return 0.0
    return b / a - 1 if a and math.isfinite(a) and math.isfinite(b) else math.inf


def _counts(m: Moved, threshold: float) -> bool:
    """Whether a move is beyond the threshold and can be seen in the digits the figure is shown with."""
    if m.a is None or m.b is None or m.moved is None:
        return True
    q = quantity(m.key)
    seen = q.text(m.a) != q.text(m.b) or abs(m.b - m.a) * q.factor >= 10.0 ** -(q.digits or 0)
    return abs(m.moved) > threshold and seen


def _most_first(m: Moved) -> float:
    return -math.inf if m.moved is None else -abs(m.moved)


def _flips(a: VariantResult, b: VariantResult) -> Iterator[Flip]:
    """Checks of the load cases that both have, by name."""
    cases = {c.name: c for c in b.load_cases}
    for case in a.load_cases:
        if case.name not in cases:
            continue
        old, new = ({c.id: c for c in x.checks} for x in (case, cases[case.name]))
        for id in dict.fromkeys((*old, *new)):
            pair = old.get(id), new.get(id)
            met = [c is None or c.met for c in pair]
            if met[0] != met[1]:
                known = pair[1] or pair[0]
                yield Flip(a.name, case.name, known.what if known else id, *pair)
