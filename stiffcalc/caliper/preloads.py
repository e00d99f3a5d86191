"""What the wrench leaves in each bolt: preload interval, where the torque goes, whether torque and preload agree."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from stiffcalc import catalogue
from stiffcalc.caliper.joint_results import TorqueShares
from stiffcalc.errors import Fault
from stiffcalc.mechanics import tightening
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.mechanics.trees import table
from stiffcalc.quantities import percent
from stiffcalc.study.breach import Breach, faults_of, said
from stiffcalc.study.numbers import plain
from stiffcalc.study.schema import Design, Screw, Study

AGREE = 0.02  # torque and preload both given may differ by this share: rounding of either
N_MM = 1e3  # N mm in a N m


def preloads(design: Design, count: int = 1) -> Preload:
    """Preload interval of every bolt as tightened (D, J), from its torque or nominal preload and the scatter.

    `count` designs, of a batch where it is one.
    """
    bolts = design.caliper.bolts
    nominal = table([nominal_preload(b) for b in bolts], count)
    return tightening.preload_interval(nominal, scatter=table([b.scatter for b in bolts], count))


def nominal_preload(bolt: Screw) -> float:
    """Nominal preload of one bolt, N: as given, else what its torque gives."""
    if bolt.preload_N is not None:
        return bolt.preload_N
    assert bolt.torque_Nm is not None  # the reader leaves at least one of the two
    return bolt.torque_Nm / torque_shares(bolt, 1.0).total


def torque_shares(bolt: Screw, preload: float) -> TorqueShares:
    """Torque for a preload by where it goes, N m; the head rubs on washer or wall over its own face."""
    size = catalogue.thread(bolt.thread)
    mean = tightening.bearing_mean(outer=catalogue.head(size.d).diameter, hole=bolt.hole)
    parts = tightening.torque_parts(
        preload,
        thread=size,
        friction_thread=bolt.friction_thread,
        friction_head=bolt.friction_head,
        head_mean=mean,
    )
    return TorqueShares(*(plain(part / N_MM) for part in (parts.pitch, parts.thread, parts.head)))


def torque_faults(study: Study) -> Iterator[Fault]:
    """Bolts whose torque and preload are both given and contradict each other."""
    for k, design in enumerate(study.designs):
        for fault in faults_of(contradictions(design)):
            yield fault if k == 0 else replace(fault, where=f'variant "{design.name}": {fault.where}')


def contradictions(design: Design) -> Iterator[Breach]:
    """`torque_faults` of one layout or of a batch."""
    for place, bolt in _screws(design):
        if bolt.preload_N is None or bolt.torque_Nm is None:
            continue
        due = torque_shares(bolt, bolt.preload_N).total
        yield Breach(
            abs(bolt.torque_Nm / due - 1.0) > AGREE,
            place,
            said("torque_Nm = {:g} and preload_N = {:g}", bolt.torque_Nm, bolt.preload_N),
            said(
                "torques within {} of {:.3g} N·m, which that preload takes at friction {:g} in the thread and "
                "{:g} under the head",
                *(percent(AGREE), due, bolt.friction_thread, bolt.friction_head),
            ),
            "remove one of the two, or correct the friction",
        )


def _screws(design: Design) -> Iterator[tuple[str, Screw]]:
    """Every bolt with its place in the file, those of bars on pads too."""
    yield from ((f"caliper.bolt[{i}]", b) for i, b in enumerate(design.caliper.bolts, start=1))
    for i, bridge in enumerate(design.caliper.bridges, start=1):
        if bridge.pads is not None:
            yield f"caliper.bridge[{i}].pads", bridge.pads.screw
