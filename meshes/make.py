"""Makes the meshes of this folder anew: python meshes/make.py [FOLDER]. README.md says what each is for.

The two published shapes with straight or elliptic sides are mapped from a square, so that they come out the same to the
last digit anywhere; the other two are meshed by gmsh and may differ between its versions.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.exchange.mesh_files import write_grid
from stiffcalc.plane.section.grid import Grid, Sides, Zone, all_sides, mesh_section
from stiffcalc.plane.section.outline import Edge, Material, Part, Region, polygon
from stiffcalc.plane.section.sizing import Sizing

STEEL = Material(E=210000.0, nu=0.3)
PANEL = Material(E=1.0, nu=1 / 3)
ALLOY = Material(E=71000.0, nu=0.33)
PROPERTIES = {  # thickness, mm, and material of every zone in this folder
    "membrane": (100.0, STEEL),
    "panel": (1.0, PANEL),
    "strip": (5.0, ALLOY),
    "body": (36.0, ALLOY),
    "pocket": (14.0, ALLOY),
    "bolt hole": (24.0, ALLOY),
}


def mapped(
    name: str,
    place: Callable[[Array, Array], Array],
    *,
    columns: int,
    rows: int,
    edges: dict[str, tuple[int, float]],
) -> Grid:
    """Six-node triangles of a square (a, b from 0 to 1) placed in the plane; edges: name -> axis and value there."""
    a, b = np.meshgrid(np.linspace(0, 1, 2 * columns + 1), np.linspace(0, 1, 2 * rows + 1))
    square = np.stack([a.ravel(), b.ravel()], axis=1)
    i, j = (k.ravel() for k in np.meshgrid(2 * np.arange(columns), 2 * np.arange(rows)))

    def _node(di: int, dj: int) -> Array:
        return (j + dj) * (2 * columns + 1) + i + di

    low = np.stack([_node(0, 0), _node(2, 0), _node(2, 2), _node(1, 0), _node(2, 1), _node(1, 1)], axis=1)
    high = np.stack([_node(0, 0), _node(2, 2), _node(0, 2), _node(1, 1), _node(1, 2), _node(0, 1)], axis=1)
    triangles = np.concatenate([low, high])
    sides, thickness = all_sides(triangles), PROPERTIES[name]
    named: dict[str, Sides] = {
        edge: sides.pick(np.all(np.abs(square[sides.nodes][:, :, axis] - value) < 1e-12, axis=1))
        for edge, (axis, value) in edges.items()
    }
    zone = Zone(name, name, *thickness)
    return Grid(
        place(square[:, 0], square[:, 1]), triangles, np.zeros(len(triangles), dtype=int), (zone,), named
    )


def elliptic_membrane() -> Grid:
    """Quarter of a plate between two ellipses, mm; finer toward the point (2000, 0)."""

    def _place(a: Array, b: Array) -> Array:
        turn = np.pi / 2 * b**1.3
        inner = np.stack([2000.0 * np.cos(turn), 1000.0 * np.sin(turn)], axis=1)
        outer = np.stack([3250.0 * np.cos(turn), 2750.0 * np.sin(turn)], axis=1)
        return inner + a[:, None] ** 1.4 * (outer - inner)

    edges = {"inner": (0, 0.0), "outer": (0, 1.0), "x axis": (1, 0.0), "y axis": (1, 1.0)}
    return mapped("membrane", _place, columns=12, rows=18, edges=edges)


def tapered_panel() -> Grid:
    """Cook's panel, mm: corners (0, 0), (48, 44), (48, 60), (0, 44)."""

    def _place(a: Array, b: Array) -> Array:
        return np.stack([48 * a, 44 * a * (1 - b) + b * (44 + 16 * a)], axis=1)

    edges = {"left": (0, 0.0), "right": (0, 1.0), "lower": (1, 0.0), "upper": (1, 1.0)}
    return mapped("panel", _place, columns=16, rows=16, edges=edges)


def hole_strip() -> Part:
    """Quarter of a strip 100 wide with a hole of 30 mm."""
    edges = (
        Edge((15.0, 0.0), (150.0, 0.0), "x axis"),
        Edge((150.0, 0.0), (150.0, 50.0), "end"),
        Edge((150.0, 50.0), (0.0, 50.0), "side"),
        Edge((0.0, 50.0), (0.0, 15.0), "y axis"),
        Edge((0.0, 15.0), (15.0, 0.0), "hole", (0.0, 0.0), clockwise=True),
    )
    return Part("strip", edges, *PROPERTIES["strip"])


def caliper_section() -> Part:
    """An invented half body cut through a bolted bridge: x axial from the joint face, y radial.

    Wall, bridge, fillet between them; a pocket milled from the outer face and the bolt hole as thinner regions.
    """
    outline = polygon(
        [(0, 170), (44, 170), (44, 108), (78, 108), (78, 178), (78, 186), (78, 194), (0, 194)],
        names=[
            "underside",
            "inner face",
            "lower end",
            "outer face",
            "head",
            "outer face",
            "top",
            "joint face",
        ],
        radii=[0, 4, 0, 0, 0, 0, 0, 0],
        fillet="fillet ",
    )
    pocket = polygon([(66, 116), (78, 116), (78, 150), (66, 150)])
    hole = polygon([(0, 178), (78, 178), (78, 186), (0, 186)])
    regions = (Region("pocket", pocket, 14.0), Region("bolt hole", hole, 24.0))
    return Part("body", outline, *PROPERTIES["body"], regions=regions)


MESHES: dict[str, Callable[[], Grid]] = {
    "elliptic_membrane.msh": elliptic_membrane,
    "tapered_panel.msh": tapered_panel,
    "hole_strip.msh": lambda: mesh_section([hole_strip()], sizing=Sizing(12.0, edges={"hole": 1.5})),
    "caliper_section.msh": lambda: mesh_section(
        [caliper_section()], sizing=Sizing(5.0, edges={"fillet 1": 0.4})
    ),
}


def main(folder: Path) -> None:
    """Write all four."""
    for name, make in MESHES.items():
        grid = make()
        write_grid(folder / name, grid)
        print(
            f"{name}: {len(grid.nodes)} nodes, {len(grid.triangles)} triangles, edges {', '.join(grid.edges)}"
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
