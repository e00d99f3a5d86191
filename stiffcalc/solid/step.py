"""The assembly as STEP (ISO 10303): one named product a part; no time, author or system in the header."""

from __future__ import annotations

import itertools
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path

from stiffcalc.solid.build import build, volumes
from stiffcalc.solid.session import solid_session
from stiffcalc.solid.shapes import Assembly

HEADER = re.compile(r"FILE_NAME\(.*?\);", re.S)
PRODUCT = re.compile(r"PRODUCT\(\s*'[^']*',\s*'[^']*',\s*''")
USAGE = re.compile(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\(\s*'\d+'")  # counted on from file to file
PLAIN_HEADER = "FILE_NAME('geometry.step','1970-01-01T00:00:00',(''),(''),'','stiffcalc','');"


def step_text(a: Assembly, *, fillets: bool = True) -> str:
    """STEP text of an assembly; the same assembly gives the same text."""
    with solid_session() as gmsh, tempfile.TemporaryDirectory() as folder:
        parts = build(gmsh, a, imprints=False, fillets=fillets)
        path = Path(folder) / "geometry.step"
        gmsh.write(str(path))
        # gmsh writes volumes by their number, so names must follow that order.
        names = [n for _, n in sorted((tag, name) for name, tags in parts.items() for _, tag in tags)]
        return named(path.read_text(encoding="utf-8"), names)


def named(text: str, parts: list[str]) -> str:
    """The kernel's names of products replaced: the assembly's where there is more than one part, then the parts'."""
    found = len(PRODUCT.findall(text))
    given = iter(parts if found == len(parts) else ["caliper", *parts])

    def name(_: re.Match[str]) -> str:
        own = next(given)
        return f"PRODUCT('{own}','{own}',''"

    text = PRODUCT.sub(name, text)
    if next(given, None) is not None:
        raise ValueError("fewer products than parts in the STEP text")
    count = itertools.count(1)
    text = USAGE.sub(lambda _: f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{next(count)}'", text)
    return HEADER.sub(PLAIN_HEADER, text, count=1)


def read_step(path: Path) -> Mapping[str, float]:
    """Volume, mm3, of every named solid of a STEP file."""
    with solid_session() as gmsh:
        label = "Geometry.OCCImportLabels"
        before = gmsh.option.getNumber(label)
        gmsh.option.setNumber(label, 1)
        try:
            gmsh.merge(str(path))
        finally:
            gmsh.option.setNumber(label, before)
        return volumes(
            gmsh, {gmsh.model.getEntityName(*t).rsplit("/", 1)[-1]: [t] for t in gmsh.model.getEntities(3)}
        )
