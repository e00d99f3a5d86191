"""How much fillets stiffen: packages of one-piece bodies with and without them, solved; writes fillets.csv.

    python studies/handover_check/fillets.py        some ten minutes on one core, 5 GB

`share` is what the fillets take of the figure, times half gap over radius; hand-over allows for 0.25.
"""

from __future__ import annotations

import csv
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from solve_package import solve

from stiffcalc.cli import main as stiffcalc
from stiffcalc.handover.model import assembly
from stiffcalc.study import load

HERE = Path(__file__).parent
CASES = (
    (HERE.parent / "hillclimb_front.toml", "one piece", 5.0),
    (HERE.parent / "hillclimb_front.toml", "one piece", 8.0),
    (HERE.parent / "centre_bridge.toml", "no centre bridge", 5.0),
    (HERE / "small.toml", "base", 2.0),
    (HERE / "small.toml", "base", 4.0),
)


def main() -> None:
    rows = [row for case in CASES for row in measured(*case)]
    with (HERE / "fillets.csv").open("w", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(
            ["study", "layout", "fillet_mm", "half_gap_mm", "figure", "sharp", "filleted", "share"]
        )
        writer.writerows(rows)


def measured(study: Path, layout: str, radius: float) -> Iterator[list[object]]:
    design = next(d for d in load(study).designs if d.name == layout)
    gap = assembly(design).body.half_gap
    sharp, round_ = figures(study, layout, 0.0), figures(study, layout, radius)
    for name, value in sharp.items():
        share = (1 - round_[name] / value) * gap / radius
        yield [study.name, layout, radius, gap, name, f"{value:.6g}", f"{round_[name]:.6g}", f"{share:.3f}"]


def figures(study: Path, layout: str, radius: float) -> dict[str, float]:
    """Opening and tilt of every bore of a package whose fillets are all of that radius."""
    with tempfile.TemporaryDirectory() as folder:
        text = with_fillets(study.read_text(encoding="utf-8"), radius)
        path, out = Path(folder) / "study.toml", Path(folder) / "package"
        path.write_text(text, encoding="utf-8")
        assert stiffcalc(["handover", str(path), "--variant", layout, "--out", str(out), "--quiet"]) == 0
        lines = solve(out)
    return {
        f"{e.quantity.split(',')[0]} {e.point}": e.solved
        for e in lines
        if e.point.startswith("bore") and e.unit != "N"
    }


def with_fillets(text: str, radius: float) -> str:
    """The study with every stated fillet of that radius."""
    return re.sub(r"fillet_mm = [0-9.]+", f"fillet_mm = {radius}", text)


if __name__ == "__main__":
    main()
