"""A small comparison round the demo's body: two layouts, three free dimensions. Invented numbers."""

from pathlib import Path
from typing import Any

from stiffcalc.study import parse
from stiffcalc.study.file import parse_toml
from stiffcalc.study.schema import Study

SOURCE = (Path(__file__).parents[2] / "studies" / "sweep_two_piece.toml").read_text(encoding="utf-8")
WALL = {"name": "wall", "path": "caliper.wall.thickness_mm", "range": [26.0, 38.0]}
FLOOR = {"name": "floor", "path": "caliper.wall.floor_mm", "range": [7.0, 12.0]}
ROW = {"name": "row", "path": ["caliper.bolt[1].y_mm", "caliper.bolt[3].y_mm"], "range": [136.0, 142.0]}
ONE_PIECE = {"name": "one piece", "set": {"caliper.layout": "monoblock"}}


def raw(**explore: Any) -> dict[str, Any]:
    """The study as a dictionary, with a one-piece variant and [explore]."""
    found: dict[str, Any] = dict(parse_toml(SOURCE, where="sample"))
    del found["sweep"]
    found["variant"] = [ONE_PIECE]
    found["explore"] = {"masses_kg": [2.9, 3.1], "effort": "quick", "key": [WALL, FLOOR, ROW]} | explore
    return found


def study(**explore: Any) -> Study:
    """The same, read."""
    return parse(raw(**explore))
