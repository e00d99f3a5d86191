"""Tables of joint faces, bolts and ports: on the page under each load case, and as CSV."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stiffcalc.caliper.joint_results import JointState, PortState
from stiffcalc.caliper.results import CaseResult, Results
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, words
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.sheets import Cell

Row = list[str | Html]
Columns = Sequence[tuple[int, CaseResult]]  # variant, its case
BOLT_KEYS = ("preload_min", "preload_nominal", "preload_max", "force", "force_max", "amplitude")
JOINT_KEYS = ("open_fraction", "face_pressure_max_MPa", "face_pressure_min_MPa")
RUBBING = (
    "A hint where to look for fretting, not a check: where faces part and close at every stop, or where their "
    "pressure changes much, they also slide a little, and wear and cracks start at the edge of contact. How far they "
    "slide depends on shear between the halves, friction and finish, unknown here; so it says nothing of life."
)


def section(columns: Columns) -> Iterator[Html]:
    """Everything about joints of one load case."""
    states = [(i, j) for i, c in columns for j in c.joints]
    if states:
        yield _faces(states)
        yield _rubbing(states)
        yield element("p", RUBBING, class_="hint")
    yield from _ports([(i, p) for i, c in columns for p in c.ports])
    bolts = [(i, j.bridge, b) for i, j in states for b in j.bolts]
    if bolts:
        rows: list[Row] = [
            [f"bolt {b.index}", blocks.badge(i), bridge, *(_shown(k, getattr(b, k)) for k in BOLT_KEYS)]
            for i, bridge, b in bolts
        ]
        yield blocks.table("Bolts", ["bolt", "variant", "bridge", *map(_label, BOLT_KEYS)], rows)


def _label(key: str) -> str:
    return quantity(key).label


def _shown(key: str, value: float | None) -> str:
    return quantity(key).text(value)


def _faces(states: Sequence[tuple[int, JointState]]) -> Html:
    head = ["joint face", "variant", "onset pressure", "opens first at x, y, mm", "2 % of it open at"]
    rows: list[Row] = [
        [
            j.bridge,
            blocks.badge(i),
            words.onset(j.onset_MPa),
            f"{_shown('onset_x', j.onset_x)}, {_shown('onset_y', j.onset_y)}",
            words.part_open(j.open_2pct_MPa),
            *(_shown(k, getattr(j, k)) for k in JOINT_KEYS),
        ]
        for i, j in states
    ]
    return blocks.table("Joint faces", [*head, *map(_label, JOINT_KEYS)], rows)


def _rubbing(states: Sequence[tuple[int, JointState]]) -> Html:
    head = ["joint face", "variant", _label("swing_MPa"), "at x, y, mm", _label("opening_share")]
    rows: list[Row] = [
        [
            j.bridge,
            blocks.badge(i),
            _shown("swing_MPa", j.swing_MPa),
            f"{_shown('swing_x', j.swing_x)}, {_shown('swing_y', j.swing_y)}",
            _shown("opening_share", j.opening_share),
        ]
        for i, j in states
    ]
    return blocks.table("What every stop does to the joint faces", head, rows)


def _ports(states: Sequence[tuple[int, PortState]]) -> Iterator[Html]:
    if not states:
        return
    keys = ("port.contact_MPa", "port.open_share")
    head = ["port", "variant", "bridge", _label(keys[0]), "at x, y, mm", _label(keys[1]), "governs"]
    rows: list[Row] = [
        [
            f"port {p.index}",
            blocks.badge(i),
            p.bridge,
            _shown(keys[0], p.contact_MPa),
            f"{_shown('port.x', p.x)}, {_shown('port.y', p.y)}",
            _shown(keys[1], p.open_share),
            p.moment,
        ]
        for i, p in states
    ]
    yield blocks.table("Ports across the clamp plane", head, rows)


CSV_JOINTS = (
    "onset_MPa",
    "onset_x",
    "onset_y",
    "open_2pct_MPa",
    *JOINT_KEYS,
    "swing_MPa",
    "swing_x",
    "swing_y",
    "opening_share",
)
CSV_PORTS = ("contact_MPa", "x", "y", "open_share")


def joint_rows(results: Results) -> Iterator[Sequence[Cell]]:
    """joints.csv."""
    yield ["variant", "load_case", "bridge", *(quantity(k).column for k in CSV_JOINTS)]
    for v in results.variants:
        for c in v.load_cases:
            for j in c.joints:
                yield [v.name, c.name, j.bridge, *(getattr(j, k) for k in CSV_JOINTS)]


def port_rows(results: Results) -> Iterator[Sequence[Cell]]:
    """ports.csv."""
    yield [
        "variant",
        "load_case",
        "port",
        "bridge",
        *(quantity(f"port.{k}").column for k in CSV_PORTS),
        "moment",
    ]
    for v in results.variants:
        for c in v.load_cases:
            for p in c.ports:
                yield [v.name, c.name, p.index, p.bridge, *(getattr(p, k) for k in CSV_PORTS), p.moment]
