"""What a solved section says as a whole: its flexibility beside closed form, onset, use of its metal."""

from __future__ import annotations

import numpy as np

from stiffcalc.caliper.requirement import allowed_stress
from stiffcalc.caliper.section_model import LOOSE
from stiffcalc.caliper.section_read import Reading, edge_stress, hole_places
from stiffcalc.caliper.section_results import Drawing, Flexibility, Head, Idle, Onset
from stiffcalc.caliper.section_states import PROBE, closed_form, own_onset
from stiffcalc.condensed import Array
from stiffcalc.plane.section.loads import volumes
from stiffcalc.plane.section.motion import zone_motion
from stiffcalc.plane.section.stress import Stress, recover, von_mises

IDLE = 0.10  # of the allowed stress
MOST = 0.995  # of the metal: what the colours of a picture cover
AXES = "z, axial from the mid-plane, mm", "y, radial, mm"
TO_KG = 1e-9  # mm3 times kg/m3


def flexibility(r: Reading) -> Flexibility | None:
    """Wall behind the bridge under unit N and unit Mx, the face closed; None for a separate bridge."""
    if r.solved.closed is None:
        return None
    solution, own = r.solved.closed, closed_form(r.layout, r.model.side, r.bridge)
    motion = zone_motion(solution.grid, solution.U, r.model.root_zones)
    lift = motion.x - motion.turn * (r.model.y_r - motion.centre[1])
    return Flexibility(float(lift[0]), -float(motion.turn[1]), own.w_per_N, own.turn_per_Mx)


def first_opening(r: Reading) -> Onset:
    """Where the face's pressure would first fall to zero, in proportion to a low pressure's change.

    Nodes open from tightening on are left out; their share is given.
    """
    names = [s.name for s in r.states]
    probe = next(i for i, s in enumerate(r.states) if s.case is None and s.name.startswith(PROBE))
    start = names.index(r.states[probe].before)
    contact = r.solved.solution.contacts["face"]
    held, loss = contact.pressure[start], contact.pressure[start] - contact.pressure[probe]
    falls = (held > 0) & (loss > 0)
    at = np.where(falls, held / np.where(falls, loss, 1.0), np.inf) * r.states[probe].pressure
    return Onset(
        section=float(at.min()),
        joint=own_onset(r.layout, r.bridge, bent_about_y=True),
        joint_without_My=own_onset(r.layout, r.bridge, bent_about_y=False),
        open_when_tightened=float(contact.open_share[start]),
    )


def hole_change(r: Reading) -> float | None:
    """By how much the largest stress at a hole's edge moves from a mesh of twice the sides, share; None without."""
    coarse = r.solved.coarse
    if coarse is None:
        return None
    fields = (r.solved.stress, recover(coarse.grid, coarse.U))
    first, last = (
        float(von_mises(edge_stress(f, r.layout, r.model, hole_places(f, r.model))).max()) for f in fields
    )
    return last / first - 1


def used(r: Reading) -> tuple[Array, int]:
    """Largest share of the allowed stress at each place over the load cases, and the state that governs."""
    share = shares(r)
    return share.max(axis=0), int(share.max(axis=1).argmax())


def shares(r: Reading) -> Array:
    """Von Mises stress over the allowed one (l, k) at each place; 0 in states that are no load case."""
    stress = r.solved.stress
    part = np.array([z.part for z in stress.grid.zones])[stress.grid.zone]
    owner = np.zeros(len(stress.node), dtype=bool)  # of a separate bridge
    if r.model.kind == LOOSE:
        owner[stress.triangles[part == "bridge"]] = True
    share = np.zeros((len(r.states), len(stress.node)))
    design = r.layout.design
    for i, state in enumerate(r.states):
        if state.case is not None:
            metals = design.caliper.material, design.caliper.bridges[r.bridge].material
            wall, bridge = (allowed_stress(m, state.case, design.limits)[0] for m in metals)
            share[i] = von_mises(stress.values[i]) / np.where(owner, bridge, wall)
    return share


def drawing(r: Reading) -> Drawing:
    """What pictures and mesh files are made of."""
    stress, (share, shown) = r.solved.stress, used(r)
    level = von_mises(stress.values[shown])
    rounded = [float(level[stress.at_edge(e)].max()) for e in r.model.fillets]
    return Drawing(
        axes=AXES,
        parts=r.model.parts,
        heads=tuple(Head(r.model.wall[1], c.y, c.half_width) for c in r.model.clamps),
        solution=r.solved.solution,
        stress=stress,
        used=share,
        shown=r.states[shown].name,
        cases=tuple(s.name for s in r.states if s.case is not None),
        level=level,
        top=max([colour_top(stress, level), *rounded]),
    )


def colour_top(stress: Stress, level: Array) -> float:
    """The level (k,) below which nearly all of the metal stays, MPa."""
    mean, volume = level[stress.triangles].mean(axis=1), _volume(stress)
    order = np.argsort(mean)
    filled = np.cumsum(volume[order]) / volume.sum()
    return float(mean[order][np.searchsorted(filled, MOST)])


def idle(r: Reading, share: Array) -> Idle:
    """Metal of a section through a bridge whose share of the allowed stays below `IDLE` in every load case."""
    stress, caliper = r.solved.stress, r.layout.design.caliper
    own = caliper.bridges[r.bridge].material if r.model.kind == LOOSE else caliper.material
    metals = [own if z.part == "bridge" else caliper.material for z in stress.grid.zones]
    return idle_metal(stress, share, density=np.array([m.density_kg_m3 for m in metals]))


def idle_metal(stress: Stress, share: Array, *, density: Array) -> Idle:
    """Elements that stay below `IDLE` of the allowed stress; share (k,) at places, density (z,) of zones, kg/m3."""
    rests, volume = share[stress.triangles].max(axis=1) < IDLE, _volume(stress)
    mass = (volume * density[stress.grid.zone])[rests].sum() * TO_KG
    return Idle(IDLE, float(volume[rests].sum() / volume.sum()), float(mass))


def _volume(stress: Stress) -> Array:
    """Volume (e,) of each triangle, mm3."""
    grid = stress.grid
    return np.asarray(volumes(grid, np.ones(len(grid.triangles), dtype=bool))[1].sum(axis=1))
