"""A package as files: tables, geometry, meshes, then what was checked and the hash of every file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from stiffcalc.handover.check import Finding
from stiffcalc.handover.job import Job
from stiffcalc.handover.mesh_files import mesh_bytes
from stiffcalc.handover.questions import notes, open_questions
from stiffcalc.solid.step import step_text
from stiffcalc.study.identity import layout_sha256

KIND = "stiffcalc handover"
WHAT = {
    "brief.html": "the brief: one page",
    "geometry.step": "solids, ISO 10303, mm",
    "sets.csv": "numbers, names and sizes of parts and sets",
    "points.csv": "named points",
    "materials.csv": "materials by part and temperature",
    "loads.csv": "loads by load case and set",
    "preloads.csv": "preloads by screw and stage of life",
    "steps.csv": "order of loading",
    "contacts.csv": "pairs that touch or are tied, friction",
    "supports.csv": "what is held",
    "expected.csv": "expected figures with bands",
    "limits.csv": "acceptance limits",
}
MESH = "ten-node tetrahedra with named sets, mm"


def solids(job: Job, formats: Sequence[str]) -> dict[str, bytes]:
    """Geometry and meshes by file name."""
    text = step_text(job.model.a, fillets=not job.model.mesh.without_fillets)
    found = {"geometry.step": text.encode("utf-8")}
    return found | {f"mesh.{ending}": mesh_bytes(job.model, ending) for ending in formats}


def manifest(folder: Path, job: Job, findings: Sequence[Finding]) -> str:
    """The manifest of what lies in `folder`."""
    mesh = job.model.mesh
    files = sorted(p for p in folder.iterdir())
    found = {
        "package": KIND,
        "format": 1,
        "tool": {"name": "stiffcalc", "version": job.results.version},
        "study": {"title": job.results.title, "sha256": job.results.sha256},
        "layout": {"name": job.design.name, "sha256": layout_sha256(job.design)},
        "units": "mm, N, MPa, kg, °C; tilt in mrad",
        "cautions": list(job.results.cautions),
        "open_questions": list(open_questions(job)),
        "notes": list(notes(job)),
        "mesh": {
            "size_mm": job.size,
            "nodes": len(mesh.nodes),
            "scaled_jacobian": {k: _round(v) for k, v in asdict(mesh.quality).items()},
            "volume_mm3": {name: round(v, 3) for name, v in mesh.cad_volume.items()},
            "body_volume_without_fillets_mm3": round(mesh.plain_volume, 3),
        },
        "self_check": [asdict(f) | {"found": _round(float(f.found)), "met": f.met} for f in findings],
        "files": {
            p.name: {
                "what": WHAT.get(p.name, MESH),
                "bytes": p.stat().st_size,
                "sha256": hashlib.sha256(p.read_bytes()).hexdigest(),
            }
            for p in files
        },
    }
    return json.dumps(found, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _round(value: float) -> float:
    """Three digits, and nothing of rounding noise, which differs from machine to machine."""
    return value if isinstance(value, int) else float(f"{value:.3g}") if abs(value) > 1e-6 else 0.0
