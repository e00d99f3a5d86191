"""Fitted constants of the closed-form wall, with where they come from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FrameConstants:
    """What beam theory does not know of a short, thick wall. All dimensionless.

    root_*: flexibility where a bridge meets the wall, in wall thicknesses of bridge material, for axial
    force, bending about x and bending about y; the last times (wall height / bridge height) ** root_y_height.
    torsion, torsion_bored: J = torsion * [(1 - torsion_bored) J_solid + torsion_bored * J_open].
    """

    root_axial: float
    root_x: float
    root_y: float
    root_y_height: float
    torsion: float
    torsion_bored: float
    distortion_bored: float


# Plain theory: nothing at the root, Saint-Venant torsion of the open section. For derivations and tests.
THEORY = FrameConstants(
    root_axial=0.0,
    root_x=0.0,
    root_y=0.0,
    root_y_height=0.0,
    torsion=1.0,
    torsion_bored=1.0,
    distortion_bored=0.0,
)

# Starting values from a throwaway study on about 100 solids; replaced by studies/solid_check/fit_frame.py.
FITTED = FrameConstants(
    root_axial=0.16,
    root_x=0.16,
    root_y=0.16,
    root_y_height=0.0,
    torsion=1.1,
    torsion_bored=0.4,
    distortion_bored=1.75,
)
