"""Fitted constants of the closed-form wall, with where they come from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FrameConstants:
    """What beam theory does not know of a short, thick, bored wall. All dimensionless.

    root: depth of the elastic layer where a bridge meets the wall, in wall thicknesses.
    torsion, torsion_bored: J = torsion * [(1 - torsion_bored) J_solid + torsion_bored * J_open].
    distortion_bored: exponent of (1 - bores' share of the front area) in the stiffness against distortion.
    bore_restraint: how far up a bore, in its diameters, the floor holds its cylinder wall back.
    """

    root: float
    torsion: float
    torsion_bored: float
    distortion_bored: float
    bore_restraint: float


# Plain theory: rigid roots, Saint-Venant torsion of the open section, distortion of a solid wall.
THEORY = FrameConstants(root=0.0, torsion=1.0, torsion_bored=1.0, distortion_bored=0.0, bore_restraint=0.0)

# Starting values; to be replaced by studies/solid_check/fit_frame.py.
FITTED = FrameConstants(
    root=0.286, torsion=1.24, torsion_bored=0.67, distortion_bored=1.35, bore_restraint=0.75
)
