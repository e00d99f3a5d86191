"""`stiffcalc handover`: a package for the analyst who goes on with solid finite elements."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.commands.shared import teller
from stiffcalc.errors import Fault, InputError
from stiffcalc.exchange import files
from stiffcalc.exchange.folders import MANIFEST, refuse_foreign, whole_folder
from stiffcalc.handover.check import Finding, check_package
from stiffcalc.handover.job import SIZE_MM, Job, prepare
from stiffcalc.handover.mesh_files import DEFAULT, FORMATS, checked_formats
from stiffcalc.handover.package import KIND, manifest, solids
from stiffcalc.handover.tables import tables
from stiffcalc.quantities import CAUTION
from stiffcalc.report import brief
from stiffcalc.report.sheets import csv_text
from stiffcalc.study import load
from stiffcalc.study.lookup import design_named


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML, format 1)")
    one.add_argument("--variant", metavar="NAME", help="layout (default: the base)")
    one.add_argument("--out", type=Path, metavar="DIR", help="folder (default: handover-STUDY here)")
    endings = ", ".join(FORMATS)
    one.add_argument(
        "--format", nargs="+", metavar="EXT", default=list(DEFAULT), help=f"of the mesh: {endings}"
    )
    one.add_argument(
        "--size",
        type=float,
        metavar="MM",
        default=SIZE_MM,
        help=f"general element size (default {SIZE_MM:g})",
    )
    one.add_argument(
        "--solid", action="store_true", help="expect onset by a 3-D solid of the screening's own (slow)"
    )
    one.add_argument("--quiet", action="store_true", help="print nothing")


def run(arguments: argparse.Namespace) -> int:
    """Write the package, whole or not at all."""
    study, size = load(arguments.study), arguments.size
    design = design_named(study, arguments.variant) if arguments.variant else study.designs[0]
    if contradictions := tuple(torque_faults(study)):
        raise InputError(contradictions)
    if not 1.0 <= size <= 50.0 or not math.isfinite(size):
        raise InputError([Fault("--size", f"{size:g}", "from 1 to 50 mm", f"{SIZE_MM:g} is usual")])
    formats = checked_formats(arguments.format)
    out = arguments.out or Path(f"handover-{arguments.study.stem}")
    refuse_foreign(out, kind=KIND)
    tell = teller(arguments.quiet)
    job = prepare(study, design, size=size, solid=arguments.solid, progress=tell)
    with whole_folder(out, kind=KIND) as folder:
        tell("writing")
        write(folder, job, formats)
        tell("reading back")
        findings = check_package(folder, job)
        files.write_text_atomic(folder / MANIFEST, manifest(folder, job, findings))
    if not arguments.quiet:
        print(summary(job, findings, out))
    return 0


def write(folder: Path, job: Job, formats: tuple[str, ...]) -> None:
    """Every file but the manifest."""
    for name, rows in tables(job).items():
        files.write_text_atomic(folder / name, csv_text(rows))
    for name, content in solids(job, formats).items():
        files.write_bytes_atomic(folder / name, content)
    files.write_text_atomic(folder / "brief.html", brief.render(job))


def summary(job: Job, findings: tuple[Finding, ...], out: Path) -> str:
    """What was written, in a few lines."""
    mesh, q = job.model.mesh, job.model.mesh.quality
    lines = [
        f"{job.design.name}: {len(mesh.parts)} parts, {q.elements} ten-node tetrahedra, {len(mesh.nodes)} nodes",
        f"scaled Jacobian: worst {q.worst:.3f}, 1 % below {q.one_percent:.2f}; folded over: {q.folded}",
        f"read back: {len(findings)} of {len(findings)} checks met",
        CAUTION,
        f"\npackage: {out / 'brief.html'}",
    ]
    return "\n".join(lines)
