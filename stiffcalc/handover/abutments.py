"""Drag of a pad as traction on its abutments."""

from __future__ import annotations

from collections.abc import Iterator

from stiffcalc.caliper.abutments import of_half, trailing_area
from stiffcalc.handover.job import Cell, Job


def tractions(job: Job, half: str, force: float) -> Iterator[tuple[Cell, ...]]:
    """Quantity, set, value, unit and resultant (x, y, z) of each abutment that forward drag, N, pushes at."""
    body = job.answer.body
    traction = force / float(trailing_area(body, half))
    for a in of_half(body, half):
        if a.x > 0:
            share = traction * (a.y1 - a.y0) * (a.z1 - a.z0)
            yield "traction along x", a.name, traction, "MPa", share, 0.0, 0.0
