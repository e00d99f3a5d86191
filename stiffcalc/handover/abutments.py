"""Drag of a pad as traction on its abutments."""

from __future__ import annotations

from collections.abc import Iterator

from stiffcalc.caliper.abutments import of_half, trailing_area
from stiffcalc.handover.job import Cell, Job


def tractions(job: Job, half: str, force: float) -> Iterator[tuple[Cell, ...]]:
    """Quantity, set, value, unit and resultant (x, y, z) of each abutment that forward drag, N, pushes at."""
    traction = force / float(trailing_area(job.answer.body, half))
    for name, share in drag_forces(job, half, force).items():
        yield "traction along x", name, traction, "MPa", share, 0.0, 0.0


def drag_forces(job: Job, half: str, force: float) -> dict[str, float]:
    """Force along x, N, on each abutment of one half that forward drag pushes at: even over their area."""
    body = job.answer.body
    traction = force / float(trailing_area(body, half))
    return {a.name: traction * (a.y1 - a.y0) * (a.z1 - a.z0) for a in of_half(body, half) if a.x > 0}
