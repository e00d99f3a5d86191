"""The direction of the arrows: each package may import only what lies below it; heavy libraries have one home."""

import ast
from functools import cache
from pathlib import Path

import pytest

import stiffcalc

ROOT = Path(stiffcalc.__file__).parent
NEUTRAL = {"errors", "quantities", "condensed", "contours", "middle_nodes", "milling", "version"}
ALLOWED = {  # package -> packages it may import, besides itself and the neutral modules
    "errors": set(),
    "quantities": set(),
    "condensed": set(),
    "contours": set(),
    "middle_nodes": set(),
    "milling": set(),
    "version": set(),
    "catalogue": set(),
    "study": {"catalogue"},
    "mechanics": set(),
    "plane": set(),
    "grid_solid": {"mechanics", "plane"},  # of them only which points lie in a polygon; discs and heads
    "caliper": {"catalogue", "study", "mechanics", "plane", "grid_solid"},
    "explore": {"caliper", "catalogue", "study", "mechanics", "plane"},
    "solid": {"caliper", "study", "plane"},  # of plane only how to install gmsh
    "handover": {"caliper", "catalogue", "study", "mechanics", "solid", "exchange"},
    "exchange": {"caliper", "catalogue", "study", "mechanics", "plane"},
    "readings": {"caliper", "catalogue", "study", "mechanics", "plane"},
    "report": {"caliper", "catalogue", "study", "explore", "exchange", "readings", "handover", "solid"},
    "commands": {"caliper", "catalogue", "study", "explore", "exchange", "readings", "report", "handover"},
    "cli": {"caliper", "catalogue", "study", "explore", "exchange", "readings", "report", "commands"},
    "__main__": {"cli"},
    "__init__": {"caliper", "study"},
}
HOMES = {
    "matplotlib": {"report"},
    "sympy": {"mechanics"},
    "distributed": {"explore/workers.py"},
    # one session for sections, one for solids, which need other options and other elements
    "gmsh": {"plane/mesh.py", "solid/session.py"},
    "tomllib": {"study"},
    "argparse": {"cli.py", "commands"},
}
MODULES = sorted(ROOT.rglob("*.py"))


@cache
def imports(path: Path) -> frozenset[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            names.update(f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            names.add("relative")
    return frozenset(names)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_arrows_point_one_way(path: Path) -> None:
    relative = path.relative_to(ROOT)
    package = relative.parts[0].removesuffix(".py")
    own = [n.split(".") for n in imports(path) if n.split(".")[0] == "stiffcalc"]
    used = {parts[1] for parts in own if len(parts) > 1} - NEUTRAL - {package}
    used = {u for u in used if (ROOT / u).is_dir() or (ROOT / f"{u}.py").exists()}
    assert used <= ALLOWED[package], f"{relative} imports {sorted(used - ALLOWED[package])}"
    assert "relative" not in imports(path)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_heavy_libraries_have_one_home(path: Path) -> None:
    relative = path.relative_to(ROOT)
    for library in {n.split(".")[0] for n in imports(path)} & HOMES.keys():
        homes = HOMES[library]
        assert relative.parts[0] in homes or str(relative) in homes, f"{relative} imports {library}"


def test_no_import_cycles() -> None:
    graph: dict[str, set[str]] = {}
    for path in MODULES:
        name = ".".join(("stiffcalc", *path.relative_to(ROOT).with_suffix("").parts)).removesuffix(
            ".__init__"
        )
        graph[name] = {n for n in imports(path) if n.startswith("stiffcalc")}
    known = set(graph)
    # `from a import b` means the module a.b where there is one, and a name inside a otherwise.
    targets = {a: {n if n in known else n.rsplit(".", 1)[0] for n in names} for a, names in graph.items()}
    edges = {a: (names & known) - {a} for a, names in targets.items()}
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name not in done:
            for other in sorted(edges[name]):
                visit(other, (*trail, name))
            done.add(name)

    for name in sorted(graph):
        visit(name, ())
