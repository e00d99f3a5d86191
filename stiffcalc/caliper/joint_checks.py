"""Checks of the clamp plane: that it holds at all, onset, residual clamp, slip and dowels, face pressure."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper import clamp_plane, heat
from stiffcalc.caliper.requirement import LOW, PRACTICE, Context, Subject, View, at_least, at_most
from stiffcalc.caliper.results import Check
from stiffcalc.catalogue import Material
from stiffcalc.mechanics import dowels, hydraulics

HOLDING = ("service", "proof", "fatigue")  # kinds in which the clamp plane must stay closed
VDI = "VDI 2230 Part 1 (seen in transcription)"
PIN_SHEAR = 1.0 / np.sqrt(3.0)  # shear over tensile yield, von Mises
ONSET_ERROR = "against solids within 10 % for two joints in three, late where a far corner is hardly pressed"


def holds(c: Context) -> Iterator[Check]:
    """What is left of all preloads must outweigh the pistons, and something must hold the halves together."""
    if c.answer.tightened is None or c.design.caliper.layout != "two-piece" or c.case.kind == "assembly":
        return
    view = min(c.low, key=lambda v: _holding(c, v))
    total = float(view.preload.sum())
    why = why_not(c, view)
    formula = f"sum of the preloads left {total:.0f} N; pistons of one side push with {c.clamp_force:.0f} N"
    subject = Subject(
        id="clamp plane holds",
        what="preload left against the pistons' force",
        unit="N",
        formula=f"{formula}; {why}, so none of it counts" if why else formula,
        source="statics: faces cannot pull",
        note=view.note(range(len(c.body.bolts))),
    )
    yield at_least(subject, _holding(c, view), c.clamp_force)


def _holding(c: Context, view: View) -> float:
    """Preload that counts, N: none where `why_not` has a reason."""
    return 0.0 if why_not(c, view) else float(view.preload.sum())


def why_not(c: Context, view: View) -> str:
    """The reason why a stage's clamp plane does not hold at all, or ''."""
    slack = [str(j + 1) for j in np.flatnonzero(view.preload <= 0.0)]
    if slack:
        return f"bolt {', '.join(slack)} has no preload left"
    if not view.held:
        return f"nothing holds the halves together at {c.case.pressure:g} MPa"
    left = clamp_plane.clamp_left(view.tension)
    gone = [b.name for i, b in enumerate(c.body.bridges) if b.jointed and c.bolts_of(i) and left[i] <= 0.0]
    return f"the face of {', '.join(gone)} is wholly open" if gone else ""


def onset(c: Context) -> Iterator[Check]:
    """Every clamped face must stay closed at the least preload of its life in service and proof."""
    if c.answer.tightened is None or c.case.kind not in HOLDING:
        return
    views = [v for v in c.low if v.answer.onset is not None]
    first = [v.answer.onset for v in views if v.answer.onset is not None]
    for i in c.answer.pair.jointed:
        pressure = [float(np.nan_to_num(f.pressure[0, LOW, i], nan=0.0, posinf=np.inf)) for f in first]
        k = int(np.argmin(pressure))
        p, x, y = pressure[k], float(first[k].x[0, LOW, i]), float(first[k].y[0, LOW, i])
        where = f"x = {x:.0f}, y = {y:.0f} mm" if np.isfinite(x) else "nowhere"
        subject = Subject(
            id=f"onset {i + 1}",
            what=f"onset pressure, {c.body.bridges[i].name}",
            unit="MPa",
            formula=f"pressure at which the first point of the face loses contact: {where}",
            source="closed joint face pressed unevenly by its bolts, derived in mechanics/elastic_faces.py",
            note=f"{views[k].note(c.bolts_of(i))}; {ONSET_ERROR}",
        )
        yield at_least(subject, p, c.case.pressure)


def residual(c: Context) -> Iterator[Check]:
    """What still presses each bolted face, against what its moments need to keep it closed."""
    views = [v for v in c.low if v.held]
    if c.answer.tightened is None or c.case.kind not in HOLDING or not views:
        return
    jointed = list(c.answer.pair.jointed)
    left = np.array([clamp_plane.clamp_left(v.tension)[jointed] for v in views])
    needed = np.array([clamp_plane.clamp_needed(v.answer, end=v.end, at=v.at) for v in views])
    for face, i in ((f, i) for f, i in enumerate(jointed) if c.bolts_of(i)):
        k = int(np.argmin(left[:, face] / np.maximum(needed[:, face], 1e-9)))
        n, mx, my = views[k].tension[i]
        subject = Subject(
            id=f"residual clamp {i + 1}",
            what=f"residual clamp, {c.body.bridges[i].name}",
            unit="N",
            formula=(
                f"force left in the face at {c.case.pressure:g} MPa, N = {n:.0f} N; needed to press its last point "
                f"under Mx = {mx:.0f}, My = {my:.0f} N mm"
            ),
            source=f"{VDI}: residual clamp against F_KA, here for both moments",
            note=views[k].note(c.bolts_of(i)),
        )
        yield at_least(subject, float(left[k, face]), float(needed[k, face]))


def slip(c: Context) -> Iterator[Check]:
    """Drag of the outboard pad crosses the clamp plane by friction of what is still clamped, else by dowels."""
    if c.answer.tightened is None or not c.case.drag or c.design.caliper.layout != "two-piece":
        return
    view = min(c.low, key=lambda v: _clamp(c, v))
    clamp, cal, pad = _clamp(c, view), c.design.caliper, c.design.pad.friction_range[1]
    drag = float(hydraulics.pad_drag(c.clamp_force, friction=pad))
    friction = float(dowels.slip_capacity(clamp, friction=cal.joint_friction))
    carried = bool(cal.dowels) and friction < drag
    pins = pin_capacity(c) if carried else 0.0
    subject = Subject(
        id="slip",
        what="friction of the clamp plane against the outboard pad's drag"
        if not carried
        else "dowels of the clamp plane against the outboard pad's drag",
        unit="N",
        formula=(
            f"mu F = {cal.joint_friction:g} x {clamp:.0f} N left in the faces = {friction:.0f} N"
            + (f", which slips; dowels bear {pins:.0f} N" if carried else "")
            + f"; drag {pad:g} x {c.clamp_force:.0f} N"
        ),
        source=f"Coulomb; lowest joint and highest pad friction; {PRACTICE}",
        note="; ".join(
            filter(None, (view.note(range(len(c.body.bolts))), _slip_words(c, clamp, carried=carried)))
        ),
    )
    yield at_least(subject, float(dowels.transverse_capacity(friction, dowels=pins)), drag)
    if carried:
        yield from pin_checks(c, drag)


def _clamp(c: Context, view: View) -> float:
    """Force left in all faces, N; none where nothing holds."""
    if not view.held:
        return 0.0
    return float(clamp_plane.clamp_left(view.tension)[list(c.answer.pair.jointed)].sum())


def _slip_words(c: Context, clamp: float, *, carried: bool) -> str:
    cal = c.design.caliper
    if carried:
        return "friction slips: dowels carry, an equal share each, which needs reamed fits"
    if cal.joint_friction_high > cal.joint_friction:
        high = float(dowels.slip_capacity(clamp, friction=cal.joint_friction_high))
        return f"at the highest friction, {cal.joint_friction_high:g}, it holds {high:.0f} N"
    return "dowels are not needed" if cal.dowels else ""


def pin_capacity(c: Context) -> float:
    """Transverse force that all dowels bear, each an equal share, N."""
    pins, (body, _) = c.design.caliper.dowels, bearing_allowed(c)
    each = [
        dowels.pin_capacity(
            diameter=d.diameter,
            bore=d.bore,
            depth=d.depth,
            shear_MPa=PIN_SHEAR * d.material.yield_MPa,
            bearing_MPa=min(body, d.material.yield_MPa),
        )
        for d in pins
    ]
    return len(pins) * float(min(each))


def bearing_allowed(c: Context) -> tuple[float, str]:
    """Yield of the body at the case's temperature, MPa, and how it was got."""
    now = c.design.caliper.material.at(c.case.body_temperature_C)
    return now.yield_MPa, f"yield {now.yield_MPa:.0f} at {c.case.body_temperature_C:g} °C"


def pin_checks(c: Context, drag: float) -> Iterator[Check]:
    """Shear and bearing of the dowels when the drag is theirs."""
    pins, (body, how) = c.design.caliper.dowels, bearing_allowed(c)
    share, source = drag / len(pins), "Kent's Mechanical Engineers' Handbook, 12th ed.; von Mises"
    shear = [float(dowels.pin_shear(share, diameter=d.diameter, bore=d.bore)) for d in pins]
    strength = [PIN_SHEAR * d.material.yield_MPa for d in pins]
    k = max(range(len(pins)), key=lambda i: shear[i] / strength[i])
    formula = f"{share:.0f} N / (pi/4 (d^2 - d_i^2)), d = {pins[k].diameter:g} mm; allowed yield / sqrt 3"
    yield at_most(
        Subject("dowel shear", f"shear of dowel {k + 1}", "MPa", formula, source), shear[k], strength[k]
    )
    pressed = [float(dowels.pin_bearing(share, diameter=d.diameter, depth=d.depth)) for d in pins]
    k = int(np.argmax(pressed))
    formula = f"{share:.0f} N / (d s), d = {pins[k].diameter:g}, s = {pins[k].depth:g} mm; allowed {how}"
    yield at_most(
        Subject("dowel bearing", f"bearing of dowel {k + 1}", "MPa", formula, source), pressed[k], body
    )


def face_pressure(c: Context) -> Iterator[Check]:
    """Largest pressure of each joint face over the greatest preloads against what its material bears."""
    views = [v for v in c.high if v.held]
    if c.answer.tightened is None or not views:
        return
    high = [clamp_plane.pressure_range(v.answer, v.at)[1][v.end] for v in views]
    for i in c.answer.pair.jointed:
        metals = (c.design.caliper.material, c.design.caliper.bridges[i].material)
        limits = [min((bearing_limit(m, v.warmth.body_C) for m in metals), key=lambda a: a[0]) for v in views]
        k = max(range(len(views)), key=lambda n: high[n][i] / limits[n][0])
        limit, how, flag = limits[k]
        subject = Subject(
            id=f"face pressure {i + 1}",
            what=f"pressure of the joint face, {c.body.bridges[i].name}",
            unit="MPa",
            formula=f"largest contact pressure at {c.case.pressure:g} MPa; allowed {how}",
            source=VDI,
            note="; ".join(filter(None, (views[k].note(c.bolts_of(i)), flag))),
        )
        yield at_most(subject, float(high[k][i]), limit)


def bearing_limit(metal: Material, temperature_C: float) -> tuple[float, str, str]:
    """Limiting pressure of a material at temperature, MPa, how it was got, and the flag of its data.

    The known value (else the yield strength) falls as the yield strength does.
    """
    ratio, flag = heat.strength_ratio(metal, temperature_C)
    known = metal.head_pressure_MPa
    name = "limiting pressure" if known is not None else "yield, no limiting pressure known,"
    room = metal.yield_MPa if known is None else known
    return room * ratio, f"{name} of {metal.name} {room:.0f} x {ratio:.2f} at {temperature_C:g} °C", flag
