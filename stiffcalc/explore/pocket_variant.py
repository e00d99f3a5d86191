"""Rectangles as a variant of the study file: paths set, the design they make, the study written with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stiffcalc.errors import InputError
from stiffcalc.explore.pocket_blank import SIDES, Start
from stiffcalc.explore.pocket_boxes import Box
from stiffcalc.explore.pocket_results import EVEN, PROPOSED, Pockets
from stiffcalc.study.reader import layout_changes, read_design
from stiffcalc.study.schema import Design, Study, Wall

DIGITS = 2  # mm


def changes(study: Study, layout: str, start: Start, found: Mapping[str, Sequence[Box]]) -> dict[str, object]:
    """Paths that make the blank with rectangles of each side of `start.sides`."""
    table: dict[str, object] = {}
    for side in start.milled:
        wall: Wall = getattr(start.blank.caliper, side)
        own = found[side if side in found else start.sides[0]]
        values = {
            "thickness_mm": wall.thickness,
            "floor_mm": wall.floor,
            "pockets": [_pocket(b) for b in own],
        }
        table |= _paths(study, layout, start, side, values)
    return table


def even_changes(study: Study, layout: str, start: Start) -> dict[str, object]:
    """Paths that make the even wall."""
    table: dict[str, object] = {}
    for side in start.milled:
        thickness = round(getattr(start.even.caliper, side).thickness, 4)
        table |= _paths(study, layout, start, side, {"thickness_mm": thickness, "pockets": []})
    return table


def _paths(
    study: Study, layout: str, start: Start, side: str, values: Mapping[str, object]
) -> dict[str, object]:
    """In [caliper.wall] where both halves change alike and neither has a key of its own there, else in the half's."""
    own = {k for s in SIDES for k in _stated(study, layout, s)}
    shared = start.copies == 2
    return {f"caliper.{side if not shared or k in own else 'wall'}.{k}": v for k, v in values.items()}


def _stated(study: Study, layout: str, side: str) -> set[str]:
    """Keys of a half's own table, in the file or by the layout's paths."""
    caliper = study.source.get("caliper")
    table = caliper.get(side, {}) if isinstance(caliper, Mapping) else {}
    prefix = f"caliper.{side}."
    paths = [p for p in layout_changes(study.source, layout) if p.startswith(prefix)]
    by_path = {p.removeprefix(prefix).split(".")[0] for p in paths}
    return set(table) | by_path


def _pocket(box: Box) -> dict[str, object]:
    def pair(ends: tuple[float, float]) -> list[float]:
        return [round(v, 4) for v in ends]

    return {"x_mm": pair(box.x), "y_mm": pair(box.y), "depth_mm": round(box.depth, DIGITS)}


def designed(study: Study, layout: str, own: Mapping[str, object], *, name: str = PROPOSED) -> Design:
    """The layout with the paths set, read as any variant is. Raises `InputError` with what the reader refuses."""
    design, faults = read_design(study.source, name, {**layout_changes(study.source, layout), **own})
    if faults:
        raise InputError(faults)
    return design


def proposal_study(study: Study, found: Pockets) -> dict[str, object]:
    """The study with the even wall and the proposal as its only variants, beside the layout that was asked for."""
    kept = {k: v for k, v in study.source.items() if k not in ("variant", "sweep", "explore", "bolts")}
    own = dict(layout_changes(study.source, found.layout))
    drawn = [{"name": found.layout, "set": own}] if own else []
    new = [
        {"name": f"{EVEN}, same mass", "set": {**own, **found.even_changes}},
        {"name": f"{PROPOSED} pockets", "set": {**own, **found.changes}},
    ]
    return {**kept, "variant": [*drawn, *new]}
