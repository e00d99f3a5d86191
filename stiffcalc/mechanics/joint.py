"""Two condensed halves joined by bridges, joint faces and bolts: glued, tightened, loaded.

Forces through bridges and bolts are equal and opposite on the halves, so the sum of both halves'
flexibilities answers with relative movements, e = F f + p wall + R r, under f = (-T, -B, p A): T the bridges'
tension (N, Mx, My), B the bolts' force. A bridge stretches by G T; a jointed one keeps its elastic layer in
the face, which adds a separation s (see `faces`). A bolt follows B = F0 + (e - e_tightened) / flexibility,
while it is being tightened B = F0; heat and settling lengthen its grip (see `warming`). A bridge that has grown against
the body when warm stretches by G T + grown. Fluid in ports presses on the faces beside contact (see `port_push`).
Forces and r are linear in s (see `joint_system`), and equilibrium is the minimum of a convex energy (see
`compression`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.condensed import Array, Flexibility
from stiffcalc.errors import Fault, InputError
from stiffcalc.mechanics.bridges import Bridges, integral_aa
from stiffcalc.mechanics.compression import Problem, equilibrium
from stiffcalc.mechanics.elastic_faces import ElasticFaces, heads_give, land_flexibility, land_push
from stiffcalc.mechanics.elastic_joint import contact
from stiffcalc.mechanics.faces import Index, align, make_faces, separation, take
from stiffcalc.mechanics.joint_audit import Solution, audited
from stiffcalc.mechanics.joint_state import Checks, Pair, State, reshaped, scaled, with_states
from stiffcalc.mechanics.joint_system import closed_answer
from stiffcalc.mechanics.stacked import apply, apply_to_rows, diagonal, greatest, inverse, transposed

SYMMETRY = 1e-7  # of F against its own diagonal


def join(
    flexibility: Flexibility,
    *,
    bridges: Bridges,
    jointed: Sequence[bool],
    layer: Array,
    bolt_flexibility: Array,
    bore_area: Array,
    clamp: ElasticFaces | None = None,
) -> Pair:
    """Join two halves, `flexibility` being their sum (`condensed.add`).

    layer (D, N) mm: depth of the elastic layer of a jointed bridge's face, both halves together, less than
    the bridge's length; plays no part where `clamp` has a give of its own. bolt_flexibility (D, J) mm/N: whole
    bolts. bore_area (D, B) mm2. Raises `InputError`.
    """
    gives = clamp is not None and clamp.give is not None
    depth = np.where(np.asarray(jointed, dtype=bool) & (not gives), layer, 0.0)
    _refuse(flexibility, share=depth / bridges.length, jointed=() if gives else jointed)
    faces = make_faces(bridges, layer=depth)
    return Pair(
        flexibility=flexibility,
        bridge_flexibility=(bridges.length / bridges.E)[..., None, None]
        * inverse(integral_aa(faces.columns)),
        layer_share=depth / bridges.length,
        jointed=tuple(i for i, j in enumerate(jointed) if j),
        faces=faces,
        bolt_flexibility=bolt_flexibility,
        bore_area=bore_area,
        clamp=clamp,
    )


def glued(pair: Pair, pressure: Array, *, bore_wall: bool = True) -> State:
    """The body with every face closed for good and bolts as springs: linear in pressure (D, ...).

    Bolt forces are changes. `bore_wall` False leaves out the pressure on the bores' cylinder walls and in ports.
    Raises `JointError`.
    """
    unit = _glued_under(pair, pressure=1.0, wall=1.0 if bore_wall else 0.0)
    extra = pressure.ndim - 1
    checks = [np.expand_dims(v, tuple(range(1, 1 + extra))) for v in vars(unit.checks).values()]
    residual, equilibrium_error, energy, steps = (np.broadcast_to(v, pressure.shape) for v in checks)
    return State(
        response=scaled(with_states(unit.response, extra), pressure),
        checks=Checks(residual=residual, equilibrium=equilibrium_error, energy=energy, steps=steps),
    )


def glued_grown(pair: Pair) -> State:
    """The same body without pressure, its bridges grown against it (`Pair.grown`), (D,). Raises `JointError`."""
    return _glued_under(pair, pressure=0.0, wall=0.0, grown=pair.grown)


def tighten(pair: Pair, preload: Array) -> State:
    """All bolts at their preload (D, ..., J), N, no pressure. Raises `UnheldError`, `JointError`.

    All faces are taken as machined to one plane: a face without bolts of its own is pressed by what its
    neighbours shorten, some hundredths of a millimetre, which in metal is a matter of flatness.
    """
    lead = preload.shape[:-1]
    rows = _rows(lead)
    bolts = preload.reshape(len(rows), preload.shape[-1])
    given = np.concatenate([-bolts, np.zeros((len(rows), pair.flexibility.points.bores))], axis=-1)
    return reshaped(
        _solve(
            pair,
            pair.tightening,
            rows,
            given=given,
            pressure=np.zeros(len(rows)),
            offset=None,
            force=bolts.sum(axis=-1),
        ),
        lead,
    )


def load(
    pair: Pair,
    tightened: State,
    pressure: Array,
    *,
    lengthening: Array | float = 0.0,
    tightened_with: Array | None = None,
) -> State:
    """Pressure (D, ...) on a tightened joint; `pressure` may have further load-state axes than `tightened`.

    lengthening, mm, broadcasts to (D, ..., J): by how much each bolt's grip has grown against the bolt since
    tightening (heat; settling is negative). tightened_with (D, J) mm/N: the bolts' flexibility then, where
    `pair` is of another temperature. Bolts are springs both ways: a force below zero is a bolt gone slack,
    outside the model. Raises `UnheldError`, `JointError`.
    """
    before = with_states(tightened.response, pressure.ndim - tightened.response.pressure.ndim)
    lead = np.broadcast_shapes(before.pressure.shape, pressure.shape)
    rows = _rows(lead)
    p = np.broadcast_to(pressure, lead).reshape(-1)
    bolts = before.bolt.shape[-1]
    preload = np.broadcast_to(before.bolt, (*lead, bolts)).reshape(len(rows), bolts)
    heads = before.points[..., pair.flexibility.points.bolt]
    if pair.clamp is not None:
        pressed = pair.clamp.pressed(before.cells, before.pressure)
        heads = heads + heads_give(pair.clamp, cells=pressed, bolt=before.bolt)
    seated = np.broadcast_to(heads, (*lead, bolts)).reshape(len(rows), bolts)
    grown = np.broadcast_to(lengthening, (*lead, bolts)).reshape(len(rows), bolts)
    then = pair.bolt_flexibility if tightened_with is None else tightened_with
    given = p[:, None] * pair.bore_area[rows]
    state = _solve(
        pair,
        pair.bolted,
        rows,
        given=given,
        pressure=p,
        offset=seated - then[rows] * preload - grown,
        force=given.sum(axis=-1) + preload.sum(axis=-1),
    )
    return reshaped(state, lead)


def _rows(lead: tuple[int, ...]) -> Index:
    """The design of each row when the load states are folded into the leading axis."""
    return np.repeat(np.arange(lead[0]), int(np.prod(lead[1:], dtype=int)))


def _solve(
    pair: Pair,
    answer: Array,
    rows: Index,
    *,
    given: Array,
    pressure: Array,
    offset: Array | None,
    force: Array,
) -> State:
    """Equilibrium of each row under the forces `given` at the points beyond q.

    answer: of the closed body, see `closed_answer`. offset (Q, J) as in `Solution`; force (Q,) is what residuals are
    measured against.
    """
    half, q = pair.flexibility, answer.shape[2] - 3
    loads = apply_to_rows(half.F[:, :q, q:], given) + pressure[:, None] * half.wall[rows, :q]
    if offset is not None:
        loads[:, half.points.bolt] -= offset
    grown = None if pair.grown is None else pair.grown[rows]
    if grown is not None:
        loads[:, half.points.bridge][:, ::3] -= grown
    if pair.clamp is not None and pair.clamp.give is not None:
        compliance = pair.compliance(q, with_layer=True)
        touching = contact(pair, pair.clamp, compliance, rows, c=-loads, given=given, pressure=pressure)
        f = np.concatenate([touching.f, given], axis=-1)
        solution = Solution(f, touching.v, pressure, pressure, offset, touching.cells, grown)
        return audited(pair, rows, solution, touching)
    resultant = apply_to_rows(transposed(half.R[:, q:]), given)
    found = _found(pair, answer, Loaded(rows, loads, resultant, pressure, force))
    solution = Solution(
        f=np.concatenate([found.f, given], axis=-1),
        v=found.v,
        pressure=pressure,
        wall=pressure,
        offset=offset,
        grown=grown,
    )
    return audited(pair, rows, solution, found)


@dataclass(frozen=True)
class Loaded:
    """Loads of each row (Q): its design, then as in `closed_answer`, pressure, force that residuals are measured by."""

    rows: Index
    loads: Array  # (Q, q)
    resultant: Array  # (Q, 3)
    pressure: Array  # (Q,)
    force: Array  # (Q,)


@dataclass(frozen=True)
class Settled:
    """Where each row came to rest."""

    f: Array  # (Q, q)
    v: Array  # (Q, nv)
    residual: Array  # (Q,) relative, of Newton's steps; 0 where none was needed
    steps: Index  # (Q,)
    unheld: NDArray[np.bool_]  # (Q,)


def _found(pair: Pair, answer: Array, on: Loaded) -> Settled:
    """Equilibrium of each row: of what stays closed by one product, of the others by Newton from there."""
    q, count = on.loads.shape[1], len(on.rows)
    x = apply_to_rows(answer, np.concatenate([on.loads, on.resultant], axis=-1))
    f, v = x[:, :q], x[:, q:]
    if pair.sunk is not None:
        v[:, :-3] += on.pressure[:, None] * pair.sunk[:, pair.jointed][on.rows].reshape(count, -1)
    found = Settled(f, v, np.zeros(count), np.zeros(count, dtype=np.intp), np.zeros(count, dtype=bool))
    left = np.flatnonzero(~_shut(pair, v))
    if len(left):
        part = Loaded(**{name: values[left] for name, values in vars(on).items()})
        for name, values in vars(_opened(pair, part, v[left, :-3])).items():
            getattr(found, name)[left] = values
    return found


def _shut(pair: Pair, v: Array) -> NDArray[np.bool_]:
    """Rows in which no corner of a joint face parts."""
    every = pair.joint_faces
    s = v[:, :-3].reshape(len(pair.bore_area), -1, every.count, 3)
    around = align(every, s)
    gap = separation(around, s, x=around.corner_x, y=around.corner_y)
    return np.asarray(greatest(gap.reshape(len(v), -1)) <= 0.0)


def _opened(pair: Pair, on: Loaded, start: Array) -> Settled:
    """Equilibrium of rows whose faces open, from what closed ones would do."""
    designs, own = np.unique(on.rows, return_inverse=True)
    q = on.loads.shape[1]
    system, loads = pair.opened(q, designs), on.loads
    if pair.sunk is not None:
        loads = loads.copy()
        loads[:, pair.flexibility.points.bridge] += on.pressure[:, None] * pair.sunk[on.rows].reshape(
            len(loads), -1
        )
    unparted = apply(system.answer[own], np.concatenate([loads, on.resultant], axis=-1))
    b = unparted[:, [3 * i + k for i in pair.jointed for k in range(3)]]
    if pair.prying is not None:
        b -= on.pressure[:, None] * pair.prying[:, pair.jointed][on.rows].reshape(len(b), -1)
    faces, scale = take(pair.faces, on.rows, pair.jointed), _scale(pair, on.rows, force=on.force)
    found = equilibrium(Problem(system.A[own], b, faces, scale, system.closed[own], start))
    x = unparted + apply(system.moved[own], found.s)
    v = np.concatenate([found.s, x[:, q:]], axis=-1)
    return Settled(x[:, :q], v, found.residual, found.steps, found.unheld)


def _scale(pair: Pair, rows: Index, *, force: Array) -> Array:
    """Forces and moments that residuals are measured against: the row's force, at the faces' levers."""
    return np.where(force > 0.0, force, 1.0)[:, None] * pair.levers[rows]


def _glued_under(pair: Pair, *, pressure: float, wall: float, grown: Array | None = None) -> State:
    """The glued body under `pressure` on its floors and `wall` on bore walls and in ports, (D,)."""
    half = pair.flexibility
    q = half.points.bolt.stop
    given = pressure * pair.bore_area
    own = [3 * i + k for i in pair.jointed for k in range(3)]
    land, pushed = _land(pair, q)
    answer = pair.bolted
    if land.any():
        compliance, layers = pair.compliance(q, with_layer=True) + land, pair.layers(q) - land[:, own]
        answer = closed_answer(compliance, half.R[:, :q], layers)
    loads = apply(half.F[:, :q, q:], given) + wall * half.wall[:, :q] + wall * pushed
    if grown is not None:
        loads[:, half.points.bridge][:, ::3] -= grown
    resultant = apply(transposed(half.R[:, q:]), given)
    x = apply(answer, np.concatenate([loads, resultant], axis=-1))
    f, v = np.concatenate([x[:, :q], given], axis=-1), x[:, q:]
    v[:, :-3] -= wall * pushed[:, own]
    if pair.sunk is not None:
        v[:, :-3] += wall * pair.sunk[:, pair.jointed].reshape(len(f), -1)
    solution = Solution(
        f=f,
        v=v,
        pressure=np.full(len(f), pressure),
        wall=np.full(len(f), wall),
        offset=np.zeros_like(f[:, half.points.bolt]),
        grown=grown,
    )
    return audited(pair, np.arange(len(f)), solution, None)


def _land(pair: Pair, q: int) -> tuple[Array, Array]:
    """What reliefs of the closed faces add to the points' flexibility (D, q, q), and fluid in ports to their movements.

    (D, q) per MPa.
    """
    added, pushed = np.zeros((len(pair.bore_area), q, q)), np.zeros((len(pair.bore_area), q))
    if pair.clamp is not None:
        own = [3 * i + k for i in pair.jointed for k in range(3)]
        places = [*own, *range(pair.flexibility.points.bolt.start, q)]
        added[:, np.array(places)[:, None], np.array(places)] = land_flexibility(pair.clamp)
        pushed[:, places] = land_push(pair.clamp)
    return added, pushed


def _refuse(flexibility: Flexibility, *, share: Array, jointed: Sequence[bool]) -> None:
    """Positive checks of what is joined; raises `InputError` with every fault."""
    faults = []
    if not np.all(share < 1.0):
        faults.append(
            Fault("joint layer", "a layer as long as its bridge", "less than the bridge", "shorten it")
        )
    if not np.all(share[:, np.flatnonzero(jointed)] > 0.0):
        faults.append(Fault("joint layer", "no depth", "above zero for a jointed bridge", "give its depth"))
    F = flexibility.F
    root = np.sqrt(np.abs(diagonal(F)))
    size = root[..., None] * root[..., None, :]
    if not np.all(np.abs(F - transposed(F)) <= SYMMETRY * (size + SYMMETRY * size.max())):
        faults.append(Fault("flexibility", "unlike its transpose", "symmetric", "use one set of pins a half"))
    if faults:
        raise InputError(faults)
