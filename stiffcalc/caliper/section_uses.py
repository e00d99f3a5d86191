"""What a section uses of what it is allowed, limit by limit: figures that a sizing holds at or below one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body_checks import NO_YIELD
from stiffcalc.caliper.section_limits import Field, fatigue
from stiffcalc.caliper.section_model import LOOSE, SEAT, SectionModel
from stiffcalc.caliper.section_read import Reading
from stiffcalc.caliper.section_whole import shares
from stiffcalc.condensed import Array
from stiffcalc.plane.section.corners import sharp_corners
from stiffcalc.plane.section.grid import Grid
from stiffcalc.plane.section.outline_checks import Flags
from stiffcalc.plane.section.stress import von_mises
from stiffcalc.study.schema import LoadCase, SizePlan

CLEAR = 2.0  # mm from sharp corners and from the ends of what presses, where plane stress has no bound
ROTATION, METAL = "rotation", "metal"


@dataclass(frozen=True)
class Limit:
    """One limit of one section in one state; or a check of an assessment, which has no bridge, side and preload."""

    bridge: str
    side: str
    what: str  # "fillet", "hole", "metal", "rotation"; of a check: what it looks at
    against: str  # "yield", "fatigue", "allowed stress", "rotation"; "check"
    case: str
    preload: str  # end of the preload; "" where nothing is tightened
    check: str = ""  # id of the check; "" for a section's limit


def uses(r: Reading, plan: SizePlan) -> dict[Limit, Array]:
    """Actual over allowed at every place where a limit is looked at, by limit; in the order of the load cases."""
    found: dict[Limit, Array] = {}
    metal, clear = shares(r), _clear(r)
    for case in r.layout.design.load_cases:
        for name, field in r.surfaces(case).items():
            found |= {_limit(r, name, *key): share for key, share in _surface(r, field, case, plan)}
        for i in r.of(case):
            end = r.states[i].end
            found[_limit(r, METAL, "allowed stress", case.name, end)] = metal[i, clear]
            if plan.rotation_mrad is not None:
                turn = abs(r.rotation(i)) / plan.rotation_mrad
                found[_limit(r, ROTATION, ROTATION, case.name, end)] = np.array([turn])
    return found


def _limit(r: Reading, what: str, against: str, case: str, end: str) -> Limit:
    return Limit(r.model.bridge, r.model.side, what, against, case, end)


def _surface(
    r: Reading, field: Field, case: LoadCase, plan: SizePlan
) -> Iterator[tuple[tuple[str, str, str], Array]]:
    """Yield, where this kind of case lets no notch yield, and fatigue, where a value is known; at each end."""
    metal = r.layout.design.caliper.material
    swing = fatigue(field, case=case, material=metal)
    allowed = metal.at(case.body_temperature_C).yield_MPa / plan.yield_factor
    for e, end in enumerate(field.ends):
        if case.kind in NO_YIELD:
            yield ("yield", case.name, end), von_mises(field.now[e]) / allowed
        if swing is not None:
            amplitude = plan.fatigue_factor * swing.amplitude[e]
            yield ("fatigue", case.name, end), amplitude / np.maximum(swing.allowed[e], 1e-9)


def _clear(r: Reading) -> Flags:
    """Places (k,) at least `CLEAR` from where plane stress grows without bound as the mesh is refined."""
    stress = r.solved.stress
    xy = stress.grid.nodes[stress.node]
    away = [np.hypot(*(xy - p).T) for p in _sharp(r.model, stress.grid)]
    return np.asarray(np.min(away, axis=0) > CLEAR) if away else np.ones(len(xy), dtype=bool)


def _sharp(model: SectionModel, grid: Grid) -> Iterator[Array]:
    """Re-entrant corners, also those where the thickness steps, ends of heads, ends of a separate bridge's seat."""
    for part in model.parts:
        yield from (np.array([c.x, c.y]) for c in sharp_corners(part))
        thin = [region for region in part.regions if region.thickness < part.thickness]
        yield from (np.array(edge.start) for region in thin for edge in region.outline)
    pressed = [c.edge for c in model.clamps] + ([SEAT] if model.kind == LOOSE else [])
    for name in pressed:
        ends = grid.nodes[grid.edge(name).nodes[:, :2]].reshape(-1, 2)
        yield ends[np.argmin(ends[:, 1])]
        yield ends[np.argmax(ends[:, 1])]


def largest(found: Mapping[Limit, Array]) -> dict[Limit, float]:
    """The largest use of each limit."""
    return {limit: float(share.max()) for limit, share in found.items()}
