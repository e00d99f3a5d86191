"""Two condensed halves joined by bridges, joint faces and bolts: glued, tightened, loaded.

Forces through bridges and bolts are equal and opposite on the halves, so the sum of both halves'
flexibilities answers with relative movements, e = F f + p wall + R r, under f = (-T, -B, p A): T the bridges'
tension (N, Mx, My), B the bolts' force. A bridge stretches by G T; a jointed one keeps its elastic layer in
the face, which adds a separation s (see `faces`). A bolt follows B = F0 + (e - e_tightened) / flexibility,
while it is being tightened B = F0; heat and settling lengthen its grip (see `warming`). A bridge that has grown against
the body when warm stretches by G T + grown. Fluid in ports presses on the faces beside contact (see `port_push`). With
H = (F_qq + diag(G, bolt flexibility))^-1 the forces are linear in v = (s, r), and equilibrium is the minimum
of a convex energy (see `compression`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stiffcalc.condensed import Array, Flexibility
from stiffcalc.errors import Fault, InputError
from stiffcalc.mechanics.bridges import Bridges, integral_aa
from stiffcalc.mechanics.compression import TOLERANCE, Equilibrium, Problem, equilibrium
from stiffcalc.mechanics.elastic_faces import ElasticFaces, heads_give, land_flexibility, land_push
from stiffcalc.mechanics.elastic_joint import contact
from stiffcalc.mechanics.faces import Index, align, make_faces, separation, take
from stiffcalc.mechanics.joint_audit import Solution, audited
from stiffcalc.mechanics.joint_state import Checks, Pair, State, reshaped, scaled, with_states
from stiffcalc.mechanics.joint_system import System
from stiffcalc.mechanics.stacked import apply, apply_to_rows, diagonal, inverse, solve, transposed

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
    areas = integral_aa(faces.columns, x_b=faces.x_b, y_r=faces.y_r)
    return Pair(
        flexibility=flexibility,
        bridge_flexibility=(bridges.length / bridges.E)[..., None, None] * inverse(areas),
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
    system: System,
    rows: Index,
    *,
    given: Array,
    pressure: Array,
    offset: Array | None,
    force: Array,
) -> State:
    """Equilibrium of each row under the forces `given` at the points beyond q.

    offset (Q, J) as in `Solution`; force (Q,) is what residuals are measured against.
    """
    half, q = pair.flexibility, system.q
    c = -apply_to_rows(half.F[:, :q, q:], given) - pressure[:, None] * half.wall[rows, :q]
    if offset is not None:
        c[:, half.points.bolt] += offset
    grown = None if pair.grown is None else pair.grown[rows]
    if grown is not None:
        c[:, half.points.bridge][:, ::3] += grown
    if pair.clamp is not None and pair.clamp.give is not None:
        compliance = pair.compliance(q, with_layer=True)
        touching = contact(pair, pair.clamp, compliance, rows, c=c, given=given, pressure=pressure)
        f = np.concatenate([touching.f, given], axis=-1)
        solution = Solution(f, touching.v, pressure, pressure, offset, touching.cells, grown)
        return audited(pair, rows, solution, touching)
    if pair.sunk is not None:
        c[:, half.points.bridge] -= pressure[:, None] * pair.sunk[rows].reshape(len(rows), -1)
    b = apply_to_rows(transposed(system.HJ), c)
    b[:, -3:] -= apply_to_rows(transposed(half.R[:, q:]), given)
    if pair.prying is not None:
        b[:, :-3] -= pressure[:, None] * pair.prying[:, pair.jointed][rows].reshape(len(rows), -1)
    found = _found(pair, system, rows, b, scale=_scale(pair, rows, force=force))
    f = apply_to_rows(system.HJ, found.v) + apply_to_rows(system.H, c)
    solution = Solution(
        f=np.concatenate([f, given], axis=-1),
        v=found.v,
        pressure=pressure,
        wall=pressure,
        offset=offset,
        grown=grown,
    )
    return audited(pair, rows, solution, found)


def _found(pair: Pair, system: System, rows: Index, b: Array, *, scale: Array) -> Equilibrium:
    """Equilibrium of each row: of what stays closed by one linear solve, of the others by Newton."""
    every, closed, undo = pair.joint_faces, system.closed, system.undo
    s = 3 * every.count
    v = -apply_to_rows(undo, b)
    v -= apply_to_rows(undo, apply_to_rows(closed, v) + b)  # what rounding left
    residual = np.abs((apply_to_rows(closed, v) + b) / scale).max(axis=-1)
    moved = v[:, :s].reshape(len(system.A), -1, every.count, 3)
    around = align(every, moved)
    shut = (separation(around, moved, x=around.corner_x, y=around.corner_y) <= 0.0).all(axis=(-2, -1))
    found = Equilibrium(v, residual, np.zeros(len(b), dtype=np.intp), np.zeros(len(b), dtype=bool))
    left = np.flatnonzero(~(shut.reshape(-1) & (residual <= TOLERANCE)))
    if len(left):
        own = rows[left]
        faces = take(every, own, range(every.count))
        opened = equilibrium(Problem(system.A[own], b[left], faces, scale[left], closed[own], v[left]))
        for name, values in vars(opened).items():
            getattr(found, name)[left] = values
    return found


def _scale(pair: Pair, rows: Index, *, force: Array) -> Array:
    """Forces and moments that residuals are measured against: the row's force, at levers of face and body."""
    return np.where(force > 0.0, force, 1.0)[:, None] * pair.levers[rows]


def _glued_under(pair: Pair, *, pressure: float, wall: float, grown: Array | None = None) -> State:
    """The glued body under `pressure` on its floors and `wall` on bore walls and in ports, (D,)."""
    half = pair.flexibility
    q = half.points.bolt.stop
    given = pressure * pair.bore_area
    matrix = np.zeros((len(given), q + 3, q + 3))
    land, pushed = _land(pair, q)
    matrix[:, :q, :q] = pair.compliance(q, with_layer=True) + land
    matrix[:, :q, q:] = half.R[:, :q]
    matrix[:, q:, :q] = transposed(half.R[:, :q])
    loads = apply(half.F[:, :q, q:], given) + wall * half.wall[:, :q] + wall * pushed
    if grown is not None:
        loads[:, half.points.bridge][:, ::3] -= grown
    resultant = apply(transposed(half.R[:, q:]), given)
    x = solve(matrix, -np.concatenate([loads, resultant], axis=-1))
    f = np.concatenate([x[:, :q], given], axis=-1)
    tension = -f[:, half.points.bridge].reshape(len(f), -1, 3)
    layer = pair.layer_share[..., None] * apply(pair.bridge_flexibility, tension)
    layer -= (apply(land, f[:, :q]) + wall * pushed)[:, half.points.bridge].reshape(tension.shape)
    if pair.sunk is not None:
        layer += wall * pair.sunk
    v = np.concatenate([layer[:, pair.jointed].reshape(len(f), -1), x[:, q:]], axis=-1)
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
