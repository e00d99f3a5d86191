"""How many designs a second the closed-form frame answers on one core: openings of both halves, linear.

    python studies/benchmarks/frame_rate.py [--designs 2000] [--bridges 3] [--repeats 9]

One four-bore body (two bores a side), its thickness, floor, bores and bridges varied by up to 5 %. Times are the best
of the repeats; processor seconds are given too, since another program may hold the core. The plain solve of the same
number of equations stands beside them as a measure of the machine.
"""

from __future__ import annotations

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")  # one core; must stand before numpy is loaded

import argparse
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc.condensed import Array, Flexibility, add
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.joint import glued, join
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.mechanics.wall import footprints, wall_flexibility
from stiffcalc.mechanics.walls import Walls

E = 71000.0


@dataclass(frozen=True)
class Timing:
    """Best of the repeats, microseconds a design: by the clock and of the processor."""

    what: str
    clock: float
    processor: float


def designs(count: int, *, bridges: int) -> tuple[Walls, Bridges]:
    """`count` varied designs of one topology, with 2 or 3 bridges."""
    rng = np.random.default_rng(1)

    def varied(*values: float) -> Array:
        return np.array(values) * (1.0 + 0.05 * (rng.random((count, len(values))) - 0.5))

    def ends(*values: float) -> Array:
        return varied(*values).reshape(count, -1, 2)

    none = np.zeros((count, 0))
    walls = Walls(
        x=varied(-115.0, 115.0),
        y=varied(105.0, 190.0),
        thickness=varied(34.0)[:, 0],
        floor=varied(9.0)[:, 0],
        bore_x=varied(-30.0, 30.0),
        bore_y=varied(135.0, 135.0),
        bore_d=varied(42.0, 40.0),
        pocket_x=none[:, :, None].repeat(2, axis=2),
        pocket_y=none[:, :, None].repeat(2, axis=2),
        pocket_depth=none,
        hole_x=none,
        hole_y=none,
        hole_d=none,
        bearing_d=none,
        cut_x=none,
        E=np.full(count, E),
        nu=np.full(count, 0.33),
    )
    top = np.full((count, bridges), 190.0)
    low = np.full((count, bridges), 105.0)
    low[:, 2:] = 172.0
    between = Bridges(
        x=ends(-110.0, -78.0, 78.0, 110.0, -12.0, 12.0)[:, :bridges],
        y=np.stack([low, top], axis=2),
        arch=np.where(low > 170.0, 0.0, 168.0),
        length=np.full(top.shape, 61.0),
        hole_x=top[..., None][..., :0],
        hole_y=top[..., None][..., :0],
        hole_d=top[..., None][..., :0],
        E=np.full(top.shape, E),
    )
    return walls, between


def steps(walls: Walls, between: Bridges) -> dict[str, Callable[[], object]]:
    """What the answer takes, one after the other; the last gives the openings."""
    prints = footprints(between)
    half = wall_flexibility(walls, prints)
    both = add(half, half)
    pair = _joined(both, walls, between)
    pressure = np.ones(len(walls.x))
    m = both.points.bridge.stop + 3
    return {
        "footprints": lambda: footprints(between),
        "wall flexibility": lambda: wall_flexibility(walls, prints),
        "sum of equal halves": lambda: add(half, half),
        "bridges joined": lambda: _joined(both, walls, between),
        "linear solve, audited": lambda: glued(pair, pressure),
        f"(plain solve of {m} equations)": lambda: np.linalg.solve(
            np.eye(m) + np.zeros((len(pressure), m, m)), np.ones((len(pressure), m, 1))
        ),
    }


def _joined(both: Flexibility, walls: Walls, between: Bridges) -> Pair:
    return join(
        both,
        bridges=between,
        jointed=[False] * between.x.shape[1],
        layer=np.zeros(between.x.shape[:2]),
        bolt_flexibility=np.zeros((len(walls.x), 0)),
        bore_area=0.25 * np.pi * walls.bore_d**2,
    )


def openings(walls: Walls, between: Bridges) -> Array:
    """Opening of each bore under 1 MPa, (D, B), mm; equal halves. What the rate counts."""
    half = wall_flexibility(walls, footprints(between))
    pair = _joined(add(half, half), walls, between)
    return glued(pair, np.ones(len(walls.x))).response.points[:, pair.flexibility.points.bore]


def timed(what: str, act: Callable[[], object], *, count: int, repeats: int) -> Timing:
    act()
    clock, processor = [], []
    for _ in range(repeats):
        at, used = time.perf_counter(), time.process_time()
        act()
        clock.append(time.perf_counter() - at)
        processor.append(time.process_time() - used)
    return Timing(what, 1e6 * min(clock) / count, 1e6 * min(processor) / count)


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--designs", type=int, default=2000)
    parser.add_argument("--bridges", type=int, choices=(2, 3), default=3)
    parser.add_argument("--repeats", type=int, default=9)
    options = parser.parse_args(argv)
    walls, between = designs(options.designs, bridges=options.bridges)
    often = {"count": options.designs, "repeats": options.repeats}
    whole = timed("all, from dimensions to openings", lambda: openings(walls, between), **often)
    parts = [timed(what, act, **often) for what, act in steps(walls, between).items()]
    print(f"{options.designs} designs, {options.bridges} bridges; microseconds a design: clock, processor")
    for t in (*parts, whole):
        print(f"{t.what:34s} {t.clock:8.2f} {t.processor:8.2f}")
    rate, own = 1e6 / whole.clock, 1e6 / whole.processor
    print(f"designs a second: {rate:.0f} by the clock, {own:.0f} a processor second")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
