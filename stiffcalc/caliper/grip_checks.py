"""Checks of what friction in the clamp plane holds: each face its share of the drag, all together the whole of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from stiffcalc.caliper import clamp_plane
from stiffcalc.caliper.batch import Index, least, of
from stiffcalc.caliper.checked import Checked, Subject, Words, at_least, joined
from stiffcalc.caliper.dowel_checks import pin_capacity, pin_checks
from stiffcalc.caliper.idealise import bores_mean_y
from stiffcalc.caliper.joint_checks import HOLDING, VDI, held_views
from stiffcalc.caliper.requirement import PRACTICE, Context, View
from stiffcalc.condensed import Array
from stiffcalc.mechanics import dowels, hydraulics


def residual(c: Context) -> Iterator[Checked]:
    """What still presses each bolted face against what it needs to hold its own share of the drag by friction.

    F_KQ of the guideline's needed clamp. Its F_KA, that no side opens, is what `onset` asks; its F_KP, that a seal is
    held, what the ports' checks ask.
    """
    views, held = held_views(c.low)
    if not _dragged(c) or c.case.kind not in HOLDING or not views:
        return
    bolted = [i for i in c.answer.pair.jointed if c.bolts_of(i)]
    shear, cal = face_shears(c, bolted), c.design.caliper
    left = np.stack([clamp_plane.clamp_left(v.contact)[:, bolted] for v in views], axis=-1)  # (D, n, V)
    for k, i in enumerate(bolted):
        worst = least(left[:, k], held)
        subject = Subject(
            f"residual clamp {i + 1}",
            "N",
            (f"residual clamp, {c.body.bridges[i].name}",),
            _residual_words(c, views, i, worst.flat, shear[:, k]),
        )
        needed = dowels.needed_clamp(shear[:, k], friction=cal.joint_friction)
        pinned = np.full(c.count, bool(cal.dowels))
        yield at_least(subject, worst.of(left[:, k]), needed, applies=held.any(axis=1) & ~pinned)


def _dragged(c: Context) -> bool:
    """Whether drag crosses a clamp plane in this case."""
    tight = c.answer.tightened is not None
    return bool(tight and c.case.drag and c.design.caliper.layout == "two-piece")


def face_shears(c: Context, faces: Sequence[int]) -> Array:
    """Each face's own share of the outboard pad's drag (D, n), N, before any of them slips.

    The faces share it by their areas; they stand further out than the pistons, so it turns the half as well.
    """
    clamp, jointed = c.answer.pair.clamp, list(c.answer.pair.jointed)
    assert clamp is not None  # every jointed pair knows its faces
    cells, own = clamp.cells, [jointed.index(i) for i in faces]
    weight = cells.area.sum(axis=-1)[:, own]
    x, y = (np.einsum("dnc,dnc->dn", cells.area, v)[:, own] / weight for v in (cells.x, cells.y))
    lever = (weight * y).sum(axis=-1) / weight.sum(axis=-1) - bores_mean_y(c.body)
    drag = _drag(c)
    across, along = dowels.group_shear((drag, 0.0 * drag), torque=drag * lever, x=x, y=y, weight=weight)
    return np.hypot(across, along)


def _drag(c: Context) -> Array:
    """Highest drag of the outboard pad, (D,) N."""
    pad = c.design.pad.friction_range[1]
    return np.broadcast_to(hydraulics.pad_drag(c.clamp_force, friction=pad), c.count)


def _residual_words(
    c: Context, views: Sequence[View], bridge: int, at: Index, shear: Array
) -> Callable[[int], Words]:
    def words(d: int) -> Words:
        mu = of(c.design.caliper.joint_friction, d)
        return Words(
            f"force left in the face at {c.case.pressure:g} MPa; needed Q / mu, its share of the drag and of "
            f"the drag's turn Q = {shear[d]:.0f} N, mu = {mu:g}",
            f"{VDI}: residual clamp against F_KQ; shares by area, elastic vector method",
            joined(
                views[at[d]].note(c.bolts_of(bridge), d),
                "that no side of the face opens is the check of its onset",
            ),
        )

    return words


def slip(c: Context) -> Iterator[Checked]:
    """Drag of the outboard pad crosses the clamp plane by friction of what is still clamped, else by dowels."""
    if not _dragged(c):
        return
    each = np.stack([_clamp(c, v) for v in c.low], axis=-1)
    worst, cal = least(each), c.design.caliper
    clamp, pad, drag = worst.of(each), c.design.pad.friction_range[1], _drag(c)
    friction = dowels.slip_capacity(clamp, friction=cal.joint_friction)
    carried = np.asarray(bool(cal.dowels) & (friction < drag))
    pins = np.where(carried, pin_capacity(c), 0.0) if carried.any() else np.zeros(c.count)
    high = dowels.slip_capacity(clamp, friction=cal.joint_friction_high)

    def words(d: int) -> Words:
        mu, mu_high, mu_pad = (of(v, d) for v in (cal.joint_friction, cal.joint_friction_high, pad))
        left = f"mu F = {mu:g} x {clamp[d]:.0f} N left in the faces = {friction[d]:.0f} N"
        if carried[d]:
            left += f", which slips; dowels bear {pins[d]:.0f} N"
            more = "friction slips: dowels carry, an equal share each, which needs reamed fits"
        elif mu_high > mu:
            more = f"at the highest friction, {mu_high:g}, it holds {high[d]:.0f} N"
        else:
            more = "dowels are not needed" if cal.dowels else ""
        return Words(
            f"{left}; drag {mu_pad:g} x {of(c.clamp_force, d):.0f} N",
            f"Coulomb; lowest joint and highest pad friction; {PRACTICE}",
            joined(c.low[worst.flat[d]].note(range(len(c.body.bolts)), d), more),
        )

    names = (f"{what} of the clamp plane against the outboard pad's drag" for what in ("friction", "dowels"))
    subject = Subject("slip", "N", tuple(names), words, carried.astype(np.intp))
    yield at_least(subject, dowels.transverse_capacity(friction, dowels=pins), drag)
    if carried.any():
        yield from pin_checks(c, drag, carried)


def _clamp(c: Context, view: View) -> Array:
    """Force left in all faces (D,), N; none where nothing holds."""
    left = clamp_plane.clamp_left(view.contact)[:, list(c.answer.pair.jointed)].sum(axis=1)
    return np.where(view.held, left, 0.0)
