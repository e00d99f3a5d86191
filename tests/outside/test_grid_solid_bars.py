"""Grid solids as bars and beams, and their faces pressed off centre, against elementary mechanics.

Sources, all from memory: S. Timoshenko, Strength of Materials, Part I (stretch of a bar; deflection of a simple beam
under a central force, W l^3 / (48 E I), also Roark's Formulas, 7th ed., table 8.1, case 1e); shear coefficient of a
rectangle, 10 (1 + nu) / (12 + 11 nu): G. R. Cowper, J. Applied Mechanics 33, 1966; face without tension, Gere &
Timoshenko, Mechanics of Materials, chapter 12: pressure N/A (1 + 12 e x / h^2) while e stays in the kern h/6, beyond it
contact keeps 3 (h/2 - e) of the height.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1] / "grid_solid"))

from grid_bodies import NU, E, box, places

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.contact import Clamp, Face, contact_state
from stiffcalc.grid_solid.grid import Fineness, Grid, grids
from stiffcalc.grid_solid.half import Condensed, Trace, condense, trace
from stiffcalc.grid_solid.plan import HalfSolid, Section
from stiffcalc.grid_solid.pressure import closed_pressure
from stiffcalc.plane.mesh import Disc
from stiffcalc.plane.plan import Head

H, B = 30.0, 20.0  # along x, along y
HEAD = 2  # output of the only head, after one bore's floor and all bore walls
CELLS = Fineness(across=5.0, between=5.0, up=7.0, through=8.0, edge=5.0)
NO_DEPTH = Disc(0.0, 0.0, 10.0)  # a patch of pressure on the inner face: its floor is the whole wall


def bar(length: float, *, e: float = 0.0, bearing: float = 16.0) -> HalfSolid:
    """A prism from the mid-plane to its outer face, pulled there at a distance e from its axis."""
    outline = box(-H / 2, H / 2, -B / 2, B / 2)
    section = Section(outline, E, True)
    head = Head(e, 0.0, 1e-3, bearing)
    return HalfSolid(outline, length - 10.0, length - 10.0, 10.0, (NO_DEPTH,), (section,), (head,), E, NU)


def solved(half: HalfSolid) -> tuple[Grid, Trace, Condensed]:
    grid = grids([half], CELLS)[0]
    faces = trace(half, grid)
    return grid, faces, condense(half, grid, faces)


def test_a_bar_stretches_by_its_length_over_its_area() -> None:
    """Two lengths, so that what the ends give cancels (Saint-Venant)."""
    short, long = (solved(bar(length))[2].C[HEAD, HEAD] for length in (60.0, 110.0))
    assert long - short == pytest.approx(50.0 / (E * H * B), rel=2e-3)


@pytest.mark.parametrize("e", [0.0, 2.0, 4.0])
def test_a_closed_face_is_pressed_straight(e: float) -> None:
    grid, faces, half = solved(bar(90.0, e=e))
    pressure = closed_pressure(half, faces, np.ones(len(faces.points), dtype=bool), grid)[:, HEAD]
    at = np.array([[x, y] for x in (-14.99, -7.0, 0.0, 9.0, 14.99) for y in (-9.99, 1.0, 9.99)])
    found = -(grid.on_trace(at, faces.functions) @ pressure)  # a pull unloads
    wanted = (1.0 + 12.0 * e * at[:, 0] / H**2) / (H * B)
    assert found == pytest.approx(wanted, abs=0.01 / (H * B))


@pytest.mark.parametrize(("span", "thickness", "breadth"), [(120.0, 12.0, 20.0), (70.0, 14.0, 16.0)])
def test_a_wall_on_two_narrow_bridges_is_a_simple_beam(span: float, thickness: float, breadth: float) -> None:
    """Faces free to turn, held from moving: bending, and shear of 3 and 12 % of it; the force is spread over 10 mm."""
    ends = [box(s * span / 2 - 2.0, s * span / 2 + 2.0, -breadth / 2, breadth / 2) for s in (-1.0, 1.0)]
    half = HalfSolid(
        box(-span / 2 - 2.0, span / 2 + 2.0, -breadth / 2, breadth / 2),
        thickness,
        thickness,
        1.0,
        (NO_DEPTH,),
        tuple(Section(o, E, True) for o in ends),
        (),
        E,
        NU,
    )
    grid, faces, found = solved(half)
    x = places(grid)[faces.functions, 0]
    turn = np.where(x < 0.0, x + span / 2, span / 2 - x)
    moved = found.C[0, 0] + (turn @ found.B[:, 0]) ** 2 / (turn @ found.S @ turn)
    area = np.pi / 4 * NO_DEPTH.diameter**2
    inertia, shear = breadth * thickness**3 / 12, 10 * (1 + NU) / (12 + 11 * NU)
    bending = span**3 / (48 * E * inertia)
    shearing = span / (4 * shear * E / (2 * (1 + NU)) * breadth * thickness)
    assert moved / area**2 == pytest.approx(bending + shearing, rel=0.03)
    assert shearing > 0.03 * bending


PRELOAD = 20e3


def pressed(e: float) -> tuple[float, Array, Array]:
    """Share in contact, pressure at points of the face and their x: a stiff block on a soft bed."""
    _, faces, half = solved(bar(60.0, e=e, bearing=3.0))
    face = Face(faces.value, faces.weight, faces.points, spring=20.0)
    clamp = Clamp(slice(HEAD, None), np.ones(1), np.array([PRELOAD]), np.ones(1))
    state = contact_state(half, face, clamp, load=np.zeros(3), tight=None, start=np.zeros(len(half.S)))
    assert state.bolt_force == pytest.approx([PRELOAD])
    return state.contact, -20.0 * (faces.value @ state.lift), faces.points[:, 0]


@pytest.mark.parametrize("e", [0.0, 4.9, 7.0, 9.0, 12.0])
def test_a_face_pressed_off_centre_keeps_contact_as_a_section_without_tension(e: float) -> None:
    contact, pressure, x = pressed(e)
    length = min(H, 3.0 * (H / 2 - e))
    assert contact == pytest.approx(length / H, abs=0.02)
    greatest = PRELOAD / (H * B) * (1 + 6 * e / H) if length == H else 2 * PRELOAD / (B * length)
    at_edge = np.polyval(np.polyfit(x[pressure > 0.0], pressure[pressure > 0.0], 1), H / 2)
    assert at_edge == pytest.approx(greatest, rel=0.01)
