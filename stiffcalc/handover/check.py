"""The package read back from its files: sets, volumes, masses, elements. What is not right stops the writing."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from stiffcalc.errors import StiffcalcError
from stiffcalc.handover.job import Job
from stiffcalc.handover.read import ReadMesh, read_mesh
from stiffcalc.solid.elements import folded, tet_volumes
from stiffcalc.solid.model import bore_error
from stiffcalc.solid.step import read_step
from stiffcalc.solid.tets import body_volume

AGREE = 1e-3  # volume and mass against the study
TRUE_MM = 0.02  # curved faces against the bores
KG = 1e-9  # of kg/m3 and mm3
ROOM = 20.0


class PackageError(StiffcalcError, ValueError):
    """A package that does not hold what it says."""


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at in the written files; `allowed` is what it may be at most."""

    what: str
    found: float
    allowed: float
    unit: str

    @property
    def met(self) -> bool:
        """NaN is not met."""
        return bool(self.found <= self.allowed)


def check_package(folder: Path, job: Job) -> tuple[Finding, ...]:
    """Look at every file of a package. Raises PackageError, which names what is wrong."""
    found = (*_meshes(folder), *_step(folder, job), *_body(folder, job))
    wrong = [
        f"{f.what}: {f.found:.3g}, allowed {f.allowed:.3g} {f.unit}".rstrip() for f in found if not f.met
    ]
    if wrong:
        raise PackageError(f"the package is not written: {'; '.join(wrong)}; a smaller --size may mend it")
    return found


def read_rows(path: Path) -> list[dict[str, str]]:
    """One table of a package."""
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def _meshes(folder: Path) -> Iterator[Finding]:
    sets = read_rows(folder / "sets.csv")
    numbers = {row["name"]: int(row["number"]) for row in sets}
    for path in sorted(folder.glob("mesh.*")):
        mesh, name = read_mesh(path, numbers), path.name
        yield Finding(f"{name}: sets that are empty or short", _short(mesh, sets), 0, "")
        yield Finding(f"{name}: faces in two sets", _twice(mesh), 0, "")
        yield Finding(f"{name}: elements folded over", folded(mesh.nodes, mesh.tets), 0, "")
        yield Finding(f"{name}: elements outside every part", _partless(mesh), 0, "")


def _short(mesh: ReadMesh, sets: list[dict[str, str]]) -> int:
    """Sets whose count is not the table's; node sets only where the format has them."""
    kinds = {"volume": mesh.parts, "face": mesh.faces, **({"node": mesh.node_sets} if mesh.node_sets else {})}
    rows = [row for row in sets if row["kind"] in kinds]
    return sum(
        int(row["count"]) == 0 or len(kinds[row["kind"]].get(row["name"], ())) != int(row["count"])
        for row in rows
    )


def _twice(mesh: ReadMesh) -> int:
    """Triangles that belong to two face sets, whether as one row or as two."""
    rows = [np.sort(mesh.triangles[r, :3], axis=1) for r in mesh.faces.values()]
    every = np.concatenate(rows)
    return len(every) - len(np.unique(every, axis=0))


def _partless(mesh: ReadMesh) -> int:
    """Tetrahedra that are in no part or in two."""
    count = np.zeros(len(mesh.tets), dtype=int)
    for rows in mesh.parts.values():
        count[rows] += 1
    return int((count != 1).sum())


def _step(folder: Path, job: Job) -> Iterator[Finding]:
    """Names of the solids, and their volumes against the CAD model that was meshed."""
    found, cad = read_step(folder / "geometry.step"), dict(job.model.mesh.cad_volume)
    if not job.model.a.split:
        cad["body"] = cad.pop("inboard_half") + cad.pop("outboard_half")
    yield Finding("geometry.step: parts missing or too many", len(found.keys() ^ cad.keys()), 0, "")
    worst = max((abs(found.get(n, np.nan) / v - 1) for n, v in cad.items()), default=np.nan)
    yield Finding("geometry.step: volume of a part against the meshed one", float(worst), AGREE, "")


def _body(folder: Path, job: Job) -> Iterator[Finding]:
    """Volume and mass of the body against the study, which counts no fillets; the bores' trueness."""
    mesh, study = job.model.mesh, job.answer.mass
    yield Finding(
        "volume of the body without fillets against the study",
        abs(mesh.plain_volume / study.volume_mm3 - 1),
        AGREE,
        "",
    )
    path = sorted(folder.glob("mesh.*"))[0]
    read = read_mesh(path, {r["name"]: int(r["number"]) for r in read_rows(folder / "sets.csv")})
    volume = {
        name: float(tet_volumes(read.nodes, read.tets[rows]).sum()) for name, rows in read.parts.items()
    }
    worst = max(abs(volume[n] / v - 1) for n, v in mesh.cad_volume.items())
    yield Finding("volume of a part's elements against its solid", worst, AGREE, "")
    mass = body_mass(folder, volume) - fillet_mass(job)
    yield Finding(
        "mass of the body's elements without fillets against the study", abs(mass / study.body - 1), AGREE, ""
    )
    yield Finding("distance of curved faces from the bores", bore_error(job.model), TRUE_MM, "mm")


def body_mass(folder: Path, volume: Mapping[str, float]) -> float:
    """Mass of the elements of every part but the screws, kg, by the densities of the package."""
    rows = read_rows(folder / "materials.csv")
    density = {
        r["part"]: float(r["density_kg_m3"]) for r in reversed(rows) if not r["part"].startswith("bolt_")
    }
    return sum(KG * rho * volume[part] for part, rho in density.items())


def fillet_mass(job: Job) -> float:
    """Mass of the fillets, kg, which are of the body's material."""
    mesh = job.model.mesh
    return KG * job.design.caliper.material.density_kg_m3 * (body_volume(mesh.cad_volume) - mesh.plain_volume)
