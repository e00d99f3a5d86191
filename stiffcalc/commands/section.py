"""`stiffcalc section`: plane-stress sections through the bridges of one layout, and sections of the user's own."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from stiffcalc.caliper.section_results import SectionResults
from stiffcalc.caliper.section_study import named, sections
from stiffcalc.commands.shared import (
    FOLDER_MARK,
    accuracy,
    add_accuracy,
    add_outputs,
    as_json,
    columns,
    teller,
)
from stiffcalc.exchange import files
from stiffcalc.exchange.mesh_files import write_solution
from stiffcalc.exchange.outlines import read_outline
from stiffcalc.report import section_page, section_tables
from stiffcalc.study import load
from stiffcalc.study.lookup import design_named


def add(one: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    one.add_argument("study", type=Path, metavar="STUDY", help="study file (TOML, format 1)")
    one.add_argument("--bridge", metavar="NAME", help="one bridge, or one [section.NAME] (default: all)")
    one.add_argument("--variant", metavar="NAME", help="layout (default: the study's base)")
    add_outputs(one, "sections")
    one.add_argument("--no-front-view", action="store_true", help="forces from the closed-form frame")
    add_accuracy(one)


def run(arguments: argparse.Namespace) -> int:
    """Solve and write."""
    asked = accuracy(arguments)
    study = load(arguments.study)
    design = design_named(study, arguments.variant) if arguments.variant else study.designs[0]
    _, own = named(study, design, arguments.bridge)
    outlines = {o.name: read_outline(arguments.study.parent / o.outline) for o in own}
    out = arguments.out or Path(f"sections-{arguments.study.stem}")
    files.refuse_foreign_folder(out, FOLDER_MARK)
    results = sections(
        study,
        bridge=arguments.bridge,
        variant=arguments.variant,
        outlines=outlines,
        accuracy=asked,
        front_view=not arguments.no_front_view,
        progress=teller(arguments.quiet),
    )
    files.prepare_folder(out, marker=FOLDER_MARK)
    write(results, out)
    if arguments.json:
        files.write_text_atomic(arguments.json, as_json(results))
    if not arguments.quiet:
        print(section_tables.terminal(results, width=columns()))
        print(f"\nreport: {out / 'sections.html'}")
    return 0


def write(results: SectionResults, out: Path) -> None:
    """The report folder: page, contract, table, and a mesh with displacement and stress for each section."""
    texts = {
        "sections.html": section_page.render(results),
        "sections.json": as_json(results),
        "sections.csv": section_tables.csv_file(results),
    }
    for name, text in texts.items():
        files.write_text_atomic(out / name, text)
    drawings = {section_tables.title(s): s.drawing for s in results.sections}
    drawings |= {o.name: o.drawing for o in results.own}
    for name, drawing in drawings.items():
        target = out / f"{plain_name(name)}.vtu"
        write_solution(target, drawing.solution, drawing.stress, cases=drawing.cases)


def plain_name(name: str) -> str:
    """A name as a file name: letters, digits and hyphens."""
    return re.sub(r"[^\w]+", "-", name).strip("-").lower() or "section"
