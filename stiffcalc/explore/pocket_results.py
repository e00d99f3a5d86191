"""What the pocket finder returns: frozen data only; `to_dict` gives plain numbers, strings and lists."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

from stiffcalc.caliper.heading import heading
from stiffcalc.condensed import Array
from stiffcalc.explore.pocket_boxes import Box
from stiffcalc.explore.pocket_field import Step

AS_DRAWN, EVEN, FIELD, CUT, PROPOSED = (
    "as drawn",
    "even wall",
    "depth field",
    "as a cutter leaves it",
    "proposed",
)


@dataclass(frozen=True)
class Stage:
    """One body on the way from the even wall to the proposal."""

    name: str
    words: str
    mass: float  # kg, total
    spread: Mapping[str, float]  # load case -> mm at least preload, front view
    less: float  # spread less than the even wall's, mean of the load cases, relative; positive is better
    tilt: float | None  # mrad, largest by size in the governing load case; None: not read on the way
    frame: Mapping[str, float]  # load case -> mm by the frame; empty: not read on the way


@dataclass(frozen=True)
class Checked:
    """A check of the proposal that is not met, or whose margin is the worst."""

    case: str
    what: str
    margin: float
    before: float | None  # the same check's margin of the layout as drawn; None: it has no such check


@dataclass(frozen=True)
class HalfField:
    """The field and the rectangles of one half, or of both where they are equal."""

    side: str  # "both", "inboard", "outboard"
    thickness: float  # of the blank, mm
    floor: float  # of the blank behind a bore
    least: float  # wall that stays
    least_floor: float
    outline: Array  # (N, 2)
    bores: tuple[tuple[float, float, float], ...]  # x, y, diameter
    heads: tuple[tuple[float, float, float], ...]  # x, y, diameter of what bears
    feet: tuple[Array, ...]  # outlines
    x: Array  # pixels' edges
    y: Array
    field: Array  # (ny, nx) best depth
    cut: Array  # (ny, nx) as a cutter leaves it
    allowed: Array  # (ny, nx)
    boxes: tuple[Box, ...]


@dataclass(frozen=True)
class Pockets:
    """The answer."""

    title: str
    layout: str
    note: str
    sha256: str
    version: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    notices: tuple[str, ...]
    verdict: str
    aim: str
    case: str  # governing load case
    cutter: float
    rib: float
    even_thickness: Mapping[str, float]  # side -> mm
    stages: tuple[Stage, ...]
    halves: tuple[HalfField, ...]
    expected_less: (
        float  # of the proposal with what is idle beside its steps: what a solid may be expected to show
    )
    steps: tuple[Step, ...]
    settled: bool
    unmet: tuple[Checked, ...]  # checks of the proposal that are not met, worst first
    worst: Checked | None
    validity: tuple[str, ...]  # of the proposal
    changes: Mapping[str, object]  # paths of the variant
    even_changes: Mapping[str, object]
    inputs: Mapping[str, object]

    def stage(self, name: str) -> Stage:
        """The stage of that name."""
        return next(s for s in self.stages if s.name == name)

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists, format 1; null where a figure does not exist. Fields are in the CSV."""
        return {
            **heading(self),
            "layout": self.layout,
            "aim": self.aim,
            "load_case": self.case,
            "cutter_mm": self.cutter,
            "corner_radius_mm": self.cutter / 2,
            "rib_mm": self.rib,
            "even_thickness_mm": dict(self.even_thickness),
            "expected_spread_less": self.expected_less,
            "stages": [_stage(s) for s in self.stages],
            "halves": [_half(h) for h in self.halves],
            "search": {"settled": self.settled, "steps": [asdict(s) for s in self.steps]},
            "unmet": [asdict(c) for c in self.unmet],
            "worst": None if self.worst is None else asdict(self.worst),
            "validity": list(self.validity),
            "variant": {"name": PROPOSED, "set": dict(self.changes)},
        }


def _stage(s: Stage) -> dict[str, Any]:
    return {
        "name": s.name,
        "words": s.words,
        "mass_kg": s.mass,
        "spread_mm": dict(s.spread),
        "spread_less": s.less,
        "tilt_mrad": s.tilt,
        "frame_spread_mm": dict(s.frame),
    }


def _half(h: HalfField) -> dict[str, Any]:
    plain = {f.name: getattr(h, f.name) for f in fields(h)}
    sizes = {f"{k}_mm": plain[k] for k in ("thickness", "floor", "least", "least_floor")}
    boxes = [{"x_mm": list(b.x), "y_mm": list(b.y), "depth_mm": b.depth} for b in h.boxes]
    return {"side": h.side, **sizes, "pockets": boxes}
