"""Do the numbers of a study make sense together: names, pad and rotor, load cases, limits."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator

from stiffcalc.errors import Fault
from stiffcalc.study.breach import Breach, always, said
from stiffcalc.study.numbers import NAN, least, most
from stiffcalc.study.schema import Caliper, Design, LoadCase, Pad, Rotor
from stiffcalc.study.sections import IN_USE


def design_faults(design: Design) -> Iterator[Breach]:
    """Every rule between the sections of one design, geometry apart."""
    yield from pad_faults(design.pad, design.rotor)
    yield from _room_faults(design)
    for where, parts in (("caliper.bridge", design.caliper.bridges), ("load_case", design.load_cases)):
        yield from map(always, same_names(where, (p.name for p in parts)))
    yield from _fillet_faults(design)
    yield from _pressure_faults(design.load_cases)
    yield from _clamp_faults(design)


def same_names(where: str, names: Iterable[str]) -> Iterator[Fault]:
    """One fault for each name that stands more than once; unread names do not count."""
    seen: Counter[str] = Counter()
    for i, name in enumerate(names, start=1):
        seen[name] += 1
        if name and seen[name] == 2:
            yield Fault(
                f"{where}[{i}].name", f'duplicate name "{name}"', "a name of its own for each", "rename it"
            )


def pad_faults(pad: Pad, rotor: Rotor) -> Iterator[Breach]:
    """Rules within the pad, and between pad and rotor."""
    new = said("below thickness_mm = {:g}", pad.thickness)
    worn = said("below worn_thickness_mm = {:g}", pad.worn_thickness)
    yield from (
        Breach(value >= limit, f"pad.{key}", said("{:g}", value), allowed, mend)
        for key, value, limit, allowed, mend in (
            ("worn_thickness_mm", pad.worn_thickness, pad.thickness, new, "worn is thinner than new"),
            ("backing_mm", pad.backing, pad.worn_thickness, worn, "thin the backing plate"),
            ("running_clearance_mm", pad.running_clearance, pad.thickness, new, "millimetres a side"),
        )
    )
    low, high = pad.friction_range
    yield Breach(
        (pad.friction < low) | (pad.friction > high),
        "pad.friction_range",
        said("[{:g}, {:g}]", low, high),
        said("a range that holds friction = {:g}", pad.friction),
        "correct the range or the friction",
    )
    radius, mend = rotor.outer_radius, "the pad has to lie on the disc"
    allowed = said("below the rotor's outer radius, {:g}", radius)
    yield Breach(pad.height >= radius, "pad.height_mm", said("{:g}", pad.height), allowed, mend)
    allowed = said("below the rotor's diameter, {:g}", 2 * radius)
    yield Breach(pad.length >= 2 * radius, "pad.length_mm", said("{:g}", pad.length), allowed, mend)


def _room_faults(design: Design) -> Iterator[Breach]:
    """Without abutments, which say where a pad is held, a pad stands between the flanks of the end bridges."""
    bridges = design.caliper.bridges
    if design.caliper.abutments:
        return
    ends, starts = least(*(b.x[1] for b in bridges)), most(*(b.x[0] for b in bridges))
    between = (ends < 0) & (starts > 0)  # there is a bridge at either end
    allowed = said("at most {:g}, the room between the end bridges", starts - ends)
    found, mend = (
        said("{:g}", design.pad.length),
        "shorten the pad, move the bridges or state [[caliper.abutment]]",
    )
    yield Breach(between & (design.pad.length > starts - ends), "pad.length_mm", found, allowed, mend)


def _fillet_faults(design: Design) -> Iterator[Breach]:
    half_gap = design.rotor.thickness / 2 + design.pad.thickness + design.pad.running_clearance
    allowed = said("below {:g}, half the gap between the walls", half_gap)
    for i, bridge in enumerate(design.caliper.bridges, start=1):
        found, where = said("{:g}", bridge.fillet), f"caliper.bridge[{i}].fillet_mm"
        yield Breach(bridge.fillet >= half_gap, where, found, allowed, "make the fillet smaller")


def _pressure_faults(cases: tuple[LoadCase, ...]) -> Iterator[Breach]:
    """Proof has to reach every service pressure, burst every proof pressure."""
    for kind, below in (("proof", "service"), ("burst", "proof")):
        least = max((c.pressure for c in cases if c.kind == below), default=NAN)
        allowed = said(f"at least the highest {below} pressure, {{:g}} MPa", least)
        for i, case in enumerate(cases, start=1):
            if case.kind == kind:
                where, found = f"load_case[{i}].pressure_MPa", said("{:g}", case.pressure)
                yield Breach(case.pressure < least, where, found, allowed, f"raise the {kind} pressure")


def _clamp_faults(design: Design) -> Iterator[Breach]:
    asked = design.limits.clamp_force_N
    if asked is None or not design.caliper.bores:
        return
    highest = max((c.pressure for c in design.load_cases if c.kind in IN_USE), default=NAN)
    possible = highest * piston_area(design.caliper)
    allowed = said("at most {:.0f}, the highest pressure in use on the pistons of one side", possible)
    mend = "lower the limit, or raise pressure or bores"
    yield Breach(asked > possible, "limits.clamp_force_N", said("{:g}", asked), allowed, mend)


def piston_area(caliper: Caliper) -> float:
    """Area of all pistons of one side, mm2."""
    return math.pi / 4.0 * sum(bore.diameter**2 for bore in caliper.bores)
