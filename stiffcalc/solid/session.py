"""A quiet gmsh model for solids, with its CAD kernel; the only module besides `plane.mesh` that imports gmsh.

Solids need other options than sections (three dimensions, curved elements, no scaling), so each has a session.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType

from stiffcalc.errors import MissingToolError
from stiffcalc.plane.mesh import INSTALL

Tag = tuple[int, int]  # dimension and number of an entity
OPTIONS = {
    "General.Terminal": 0,
    "General.NumThreads": 1,  # more threads give another mesh every time
    "Geometry.OCCUnionUnify": 1,
    "Geometry.ToleranceBoolean": 1e-5,  # mm: corners that all but touch an edge make sides of no length else
    "Mesh.ElementOrder": 2,
    "Mesh.HighOrderOptimize": 0,  # it ends the process on webs of some micrometres; `unfolded` mends instead
    "Mesh.Optimize": 1,
    "Mesh.OptimizeNetgen": 0,
    "Mesh.Algorithm": 6,
    "Mesh.Algorithm3D": 1,
    "Mesh.MeshSizeExtendFromBoundary": 1,
    "Mesh.SaveAll": 0,
}


def load_gmsh() -> ModuleType:
    """Import gmsh, or say what is missing. A missing system library shows as OSError."""
    try:
        import gmsh
    except (ImportError, OSError) as error:
        raise MissingToolError(f"the mesher gmsh does not load ({error}); {INSTALL}") from error
    return gmsh  # type: ignore[no-any-return]


@contextmanager
def solid_session() -> Iterator[ModuleType]:
    """A model of our own; whatever the caller had open in gmsh is left as it was."""
    gmsh = load_gmsh()
    mine = not gmsh.isInitialized()
    if mine:
        gmsh.initialize([], readConfigFiles=False, interruptible=False)
    before, current = {k: gmsh.option.getNumber(k) for k in OPTIONS}, gmsh.model.getCurrent()
    for key, value in OPTIONS.items():
        gmsh.option.setNumber(key, value)
    gmsh.model.add("stiffcalc.solid")
    try:
        with silenced():
            yield gmsh
    finally:
        gmsh.model.remove()
        for key, value in before.items():
            gmsh.option.setNumber(key, value)
        if mine:
            gmsh.finalize()
        else:
            gmsh.model.setCurrent(current)


@contextmanager
def silenced() -> Iterator[None]:
    """The CAD kernel reports on standard output, past Python and past gmsh's own switch."""
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
