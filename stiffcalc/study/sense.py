"""Do the numbers of a study make sense together: names, pad and rotor, load cases, limits."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator

from stiffcalc.errors import Fault
from stiffcalc.study.schema import Caliper, Design, LoadCase, Pad, Rotor


def design_faults(design: Design) -> Iterator[Fault]:
    """Every fault between the sections of one design, geometry apart."""
    yield from pad_faults(design.pad, design.rotor)
    yield from same_names("caliper.bridge", (b.name for b in design.caliper.bridges))
    yield from same_names("load_case", (c.name for c in design.load_cases))
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


def pad_faults(pad: Pad, rotor: Rotor) -> Iterator[Fault]:
    """Faults within the pad, and between pad and rotor."""
    if pad.worn_thickness >= pad.thickness:
        allowed = f"below thickness_mm = {pad.thickness:g}"
        yield Fault("pad.worn_thickness_mm", f"{pad.worn_thickness:g}", allowed, "worn is thinner than new")
    if pad.backing >= pad.worn_thickness:
        allowed = f"below worn_thickness_mm = {pad.worn_thickness:g}"
        yield Fault("pad.backing_mm", f"{pad.backing:g}", allowed, "thin the backing plate")
    if pad.running_clearance >= pad.thickness:
        allowed = f"below thickness_mm = {pad.thickness:g}"
        yield Fault("pad.running_clearance_mm", f"{pad.running_clearance:g}", allowed, "millimetres a side")
    low, high = pad.friction_range
    if pad.friction < low or pad.friction > high:
        allowed = f"a range that holds friction = {pad.friction:g}"
        yield Fault(
            "pad.friction_range", f"[{low:g}, {high:g}]", allowed, "correct the range or the friction"
        )
    if pad.height >= rotor.outer_radius:
        allowed = f"below the rotor's outer radius, {rotor.outer_radius:g}"
        yield Fault("pad.height_mm", f"{pad.height:g}", allowed, "the pad has to lie on the disc")
    if pad.length >= 2 * rotor.outer_radius:
        allowed = f"below the rotor's diameter, {2 * rotor.outer_radius:g}"
        yield Fault("pad.length_mm", f"{pad.length:g}", allowed, "the pad has to lie on the disc")


def _fillet_faults(design: Design) -> Iterator[Fault]:
    half_gap = design.rotor.thickness / 2 + design.pad.thickness + design.pad.running_clearance
    for i, bridge in enumerate(design.caliper.bridges, start=1):
        if bridge.fillet >= half_gap:
            allowed = f"below {half_gap:g}, half the gap between the walls"
            yield Fault(
                f"caliper.bridge[{i}].fillet_mm", f"{bridge.fillet:g}", allowed, "make the fillet smaller"
            )


def _pressure_faults(cases: tuple[LoadCase, ...]) -> Iterator[Fault]:
    """Proof has to reach every service pressure, burst every proof pressure."""
    for kind, below in (("proof", "service"), ("burst", "proof")):
        least = max((c.pressure for c in cases if c.kind == below), default=math.nan)
        for i, case in enumerate(cases, start=1):
            if case.kind == kind and case.pressure < least:
                allowed = f"at least the highest {below} pressure, {least:g} MPa"
                yield Fault(
                    f"load_case[{i}].pressure_MPa",
                    f"{case.pressure:g}",
                    allowed,
                    f"raise the {kind} pressure",
                )


def _clamp_faults(design: Design) -> Iterator[Fault]:
    asked = design.limits.clamp_force_N
    highest = max((c.pressure for c in design.load_cases), default=math.nan)
    possible = highest * piston_area(design.caliper)
    if asked is not None and design.caliper.bores and asked > possible:
        allowed = f"at most {possible:.0f}, the highest pressure on the pistons of one side"
        mend = "lower the limit, or raise pressure or bores"
        yield Fault("limits.clamp_force_N", f"{asked:g}", allowed, mend)


def piston_area(caliper: Caliper) -> float:
    """Area of all pistons of one side, mm2."""
    return math.pi / 4.0 * sum(bore.diameter**2 for bore in caliper.bores)
