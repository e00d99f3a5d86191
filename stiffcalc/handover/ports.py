"""Fluid of ports in the package: what it presses on in the clamp plane, up to each seal's outer edge, on both parts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from stiffcalc.handover.job import Cell, Job
from stiffcalc.mechanics import hydraulics
from stiffcalc.solid.shapes import clamp_faces
from stiffcalc.study.schema import LoadCase

Row = tuple[Cell, ...]
NOTE = "fluid up to the seal's outer edge, in place of contact; grooves and drillings are not built"


@dataclass(frozen=True)
class Pushed:
    """One seal's disc on one part."""

    port: int  # from 1
    set: str
    area: float  # mm2
    sign: float  # of the push along z


def pushed(job: Job) -> Iterator[Pushed]:
    """Every disc that fluid of a port presses on: of each clamp plane the part below and the part above."""
    names = {s.name for s in job.model.faces}
    for face in clamp_faces(job.model.a):
        for k, port in enumerate(job.answer.body.ports, start=1):
            for (_, name), sign in ((face.lower, -1.0), (face.upper, 1.0)):
                own = f"port_seal_{k}_{name.removeprefix('clamp_')}"
                if port.bridge == face.bridge and own in names:
                    yield Pushed(k, own, float(hydraulics.piston_area(port.seal)), sign)


def loads(job: Job, case: LoadCase) -> Iterator[Row]:
    """Rows of `loads.csv`."""
    for one in pushed(job):
        force = one.sign * case.pressure * one.area
        head = (case.name, case.kind, "pressure", "pressure")
        yield *head, one.set, case.pressure, "MPa", 0.0, 0.0, force, NOTE


def resultants(job: Job, case: LoadCase) -> Iterator[tuple[str, str, float]]:
    """Point, set and force along z of every disc, for `expected.csv`."""
    for one in pushed(job):
        yield f"seal of port {one.port}", one.set, one.sign * case.pressure * one.area
