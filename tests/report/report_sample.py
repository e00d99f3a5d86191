"""Invented results of invented calipers, for the report alone: plausible numbers, no physics behind them.

`results()` has three variants (two-piece with four bolts, two-piece with six bolts and a centre bridge, one piece);
`ugly()` has what a report trips over: long names, markup in names, failed checks, an onset that never comes, no front
view, unequal bores, six load cases, many variants.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stiffcalc.caliper.body import Body, BoltShape, BoreShape, BridgeShape, HalfShape, PocketShape, PortShape
from stiffcalc.caliper.joint_results import (
    BoltLife,
    BoltState,
    FaceMap,
    FaceStep,
    JointState,
    LifeStage,
    PortState,
    TorqueShares,
)
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.results import (
    CaseResult,
    CentreBridge,
    Check,
    Fluid,
    ModelOpening,
    Results,
    Shape,
    SolidCase,
    Sweep,
    VariantResult,
)
from stiffcalc.condensed import Array

E, NU, ARCH, HALF_GAP = 71000.0, 0.33, 168.0, 30.5
BORES = (BoreShape(-31.0, 136.0, 40.0), BoreShape(31.0, 136.0, 44.0))
STEP = ((76.0, 140.0), (86.0, 140.0), (88.0, 152.0), (76.0, 156.0))
BOLTS_4 = ((-97.0, 180.0), (-97.0, 150.0), (97.0, 150.0), (97.0, 180.0))
BOLTS_6 = (*BOLTS_4, (-9.0, 179.0), (9.0, 179.0))


def box(x0: float, x1: float, y0: float, y1: float) -> Array:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def bridge(name: str, x0: float, x1: float, *, jointed: bool) -> BridgeShape:
    shape = BridgeShape(name, x0, x1, 105.0, 190.0, ARCH, 4.0, E, NU, jointed)
    return replace(shape, reliefs=(STEP,)) if name.startswith("trailing") and jointed else shape


def body(
    *, bolts: tuple[tuple[float, float], ...], centre: bool, jointed: bool, thickness: float = 34.0
) -> Body:
    pocket = PocketShape(box(-12.0, 12.0, 112.0, 124.0), 6.0)
    half = HalfShape(box(-112.0, 112.0, 105.0, 190.0), thickness, 9.0, BORES, (pocket,))
    bridges = [bridge("leading end", -112.0, -80.0, jointed=jointed)]
    if centre:
        bridges.append(bridge("centre", -18.0, 18.0, jointed=jointed))
    bridges.append(bridge("trailing end", 80.0, 112.0, jointed=jointed))
    owner = {True: {-1: 0, 0: 1, 1: 2}, False: {-1: 0, 0: 0, 1: 1}}[centre]
    shapes = tuple(
        BoltShape(x, y, 10.0, 11.0, 16.0, 205000.0, owner[0 if abs(x) < 20 else int(np.sign(x))])
        for x, y in bolts
    )
    ports = (PortShape(-88.0, 165.0, 5.0, 12.0, 0),) if shapes else ()
    return Body(half, half, HALF_GAP, tuple(bridges), shapes, E, NU, ports)


def underside(b: BridgeShape, x: Array) -> Array:
    return np.maximum(b.y0, np.sqrt((b.arch or 0.0) ** 2 - x**2))


def face(b: BridgeShape, bolts: tuple[BoltShape, ...], *, lift: float) -> FaceMap:
    x, y = np.linspace(b.x0 + 1, b.x1 - 1, 17), np.linspace(b.y0 + 1, b.y1 - 1, 43)
    X, Y = np.meshgrid(x, y)
    inward = -np.sign(b.x0 + b.x1) * (X - (b.x0 + b.x1) / 2) / (b.x1 - b.x0)
    p = 60.0 + 0.9 * (Y - 165.0) - 40.0 * inward - lift
    for bolt in bolts:
        p = p + 55.0 * np.exp(-((X - bolt.x) ** 2 + (Y - bolt.y) ** 2) / 120.0)
    p = np.maximum(p, 0.0)
    p[underside(b, x)[None, :] > Y] = np.nan
    for bolt in bolts:
        p[np.hypot(X - bolt.x, Y - bolt.y) < bolt.hole / 2] = np.nan
    return FaceMap(b.name, x, y, p)


def all_faces(b: Body, loaded: float) -> tuple[FaceMap, ...]:
    """Every joint face; `loaded`: pressure over onset pressure."""
    return tuple(
        face(br, tuple(x for x in b.bolts if x.bridge == i), lift=60.0 * (loaded - 0.6))
        for i, br in enumerate(b.bridges)
        if br.jointed
    )


def shape(*, middle_mm: float, pressure: float, mesh: bool) -> Shape:
    x = np.linspace(-112.0, 112.0, 41)
    opening = 0.3 * middle_mm + 0.7 * middle_mm * np.cos(np.pi * x / 260.0) + 2e-5 * x
    slope = np.full_like(x, -middle_mm / 70.0) * np.cos(np.pi * x / 300.0)
    if not mesh:
        empty = np.empty((0, 2))
        return Shape(pressure, 136.0, x, opening, slope, empty, np.empty((0, 3), dtype=int), np.empty(0))
    xs, ys = np.linspace(-112.0, 112.0, 45), np.linspace(105.0, 190.0, 18)
    X, Y = np.meshgrid(xs, ys)
    nodes = np.column_stack([X.ravel(), Y.ravel()])
    i = np.arange(len(ys) - 1)[:, None] * len(xs) + np.arange(len(xs) - 1)[None, :]
    a = i.ravel()
    tri = np.vstack([np.column_stack([a, a + 1, a + 46]), np.column_stack([a, a + 46, a + 45])])
    w = np.interp(nodes[:, 0], x, opening) + np.interp(nodes[:, 0], x, slope) * (nodes[:, 1] - 136.0)
    for b in BORES:
        r = np.hypot(nodes[:, 0] - b.x, nodes[:, 1] - b.y) / (b.diameter / 2)
        w = w + 0.04 * middle_mm * np.maximum(0.0, 1 - r**2) ** 2
    return Shape(pressure, 136.0, x, opening, slope, nodes, tri, w)


def check(
    id: str, what: str, actual: float, allowed: float, unit: str, *, more: bool = False, note: str = ""
) -> Check:
    margin = (actual / allowed if more else allowed / actual) - 1
    ratio = "actual / allowed" if more else "allowed / actual"
    formula = f"{ratio} − 1 = {margin:.3f}, with {actual:g} {unit} and {allowed:g} {unit}"
    return Check(
        id, what, actual, allowed, unit, margin, margin >= 0, "invented for this sample", formula, note
    )


def checks(pressure: float, spread: float, *, weak: float, bolts: int) -> tuple[Check, ...]:
    out = [
        check("bridge_stress", "bridge stress with fillet factor", 12.5 * pressure * weak, 205.0, "MPa"),
        check("wall_bending", "wall bending stress", 8.2 * pressure * weak, 205.0, "MPa"),
        check("floor_stress", "bore floor stress", 9.9 * pressure, 205.0, "MPa"),
        check("limit_spread", "spread asked for by the study", spread, 0.30, "mm"),
        check("clamp_force", "clamp force of one side", 2780.0 * pressure, 20000.0, "N", more=True),
    ]
    if bolts:
        low, high = "minimum preload governs", "maximum preload governs"
        out += [
            check(
                "onset",
                "onset pressure of the clamp plane",
                11.2 / weak,
                1.2 * pressure,
                "MPa",
                more=True,
                note=low,
            ),
            check(
                "slip", "slip of the clamp plane under drag", 3100.0 * pressure / 10, 9800.0, "N", note=low
            ),
            check("bolt_stress", "bolt stress in service", 870.0 * weak, 990.0, "MPa", note=high),
            check("bolt_proof", "bolt force against proof load", 50500.0, 56300.0, "N", note=high),
            check("head_pressure", "pressure under the bolt head", 395.0, 420.0, "MPa", note=high),
            check("engagement", "thread engagement in the tapped half", 22.0, 17.5, "mm", more=True),
        ]
    return tuple(out)


def ports(b: Body, pressure: float) -> tuple[PortState, ...]:
    """Invented: less pressed as pressure grows."""
    return tuple(
        PortState(
            k,
            b.bridges[p.bridge].name,
            max(0.0, 62.0 - 3.1 * pressure),
            p.x + 5.1,
            p.y - 4.3,
            0.0 if pressure < 20 else 0.25,
            "minimum preload, cold after hot soak",
        )
        for k, p in enumerate(b.ports, start=1)
    )


def joints(b: Body, pressure: float, *, onset: float, preload: float) -> tuple[JointState, ...]:
    out = []
    for i, br in enumerate(b.bridges):
        if not br.jointed:
            continue
        bolts = tuple(
            BoltState(
                k + 1,
                0.8 * preload,
                preload,
                1.25 * preload,
                0.8 * preload + 120.0 * pressure * (-1) ** k,
                1.25 * preload + 60.0 * pressure * (-1) ** k,
                60.0 * pressure,
            )
            for k, bolt in enumerate(b.bolts)
            if bolt.bridge == i
        )
        start = onset * (1.0 if i != 1 or len(b.bridges) == 2 else 1.6)
        x = br.x1 if br.x0 < 0 else br.x0
        y = float(underside(br, np.array([x]))[0])
        share = max(0.0, min(0.6, (pressure - start) / (4 * onset))) if np.isfinite(start) else 0.0
        soon = start * 1.06 if np.isfinite(start) and start * 1.06 < pressure else None
        out.append(
            JointState(
                bridge=br.name,
                onset_MPa=start,
                onset_x=x,
                onset_y=y,
                open_fraction=share,
                face_pressure_max_MPa=161.0,
                face_pressure_min_MPa=0.0 if share else 12.0,
                bolts=bolts,
                open_2pct_MPa=soon,
                swing_MPa=4.4 * pressure,
                swing_x=x,
                swing_y=y + 3.0,
                opening_share=share,
            )
        )
    return tuple(out)


def case(
    name: str,
    kind: str,
    pressure: float,
    b: Body,
    mass: Masses,
    *,
    per_MPa: float,
    onset: float,
    preload: float,
    weak: float,
    front: bool,
) -> CaseResult:
    spread = per_MPa * pressure * (1 + 0.02 * max(0.0, pressure / onset - 1))
    tilt = (-2.9 * spread / 0.2, -3.05 * spread / 0.2)
    by_bore = (0.985 * spread, 1.012 * spread)
    models = {"frame": ModelOpening(0.97 * spread, (0.96 * spread, 0.98 * spread), None, 3e-15, 2e-14, 5e-15)}
    if front:
        models["front view"] = ModelOpening(spread, by_bore, tilt, 2e-12, 4e-13, 7e-13)
    shares = {
        "bridge stretch": 0.05,
        "bridge bending": 0.14,
        "wall bending": 0.58,
        "wall twist": 0.19,
        "floor": 0.06,
        "bore walls": -0.06,
        "joint": 0.04,
    }
    if not b.bolts:
        shares |= {"joint": 0.0, "wall bending": 0.62}
    force = 2780.0 * pressure
    stiffness = force / 1e3 / spread
    fluid = Fluid(2780.0 * spread, 31.0 * pressure, 62.0 * pressure, 18.0 * pressure)
    return CaseResult(
        name,
        kind,
        pressure,
        force,
        "front view" if front else "frame",
        models,
        spread,
        1.012 * spread,
        by_bore,
        1.06 * spread,
        0.68 * spread,
        tilt if front else None,
        -3.0 * spread / 0.2 if front else None,
        0.11 * spread / 0.2,
        fluid,
        stiffness,
        stiffness / mass.total,
        {k: v * spread for k, v in shares.items()},
        joints(b, pressure, onset=onset, preload=preload),
        checks(pressure, spread, weak=weak, bolts=len(b.bolts)),
        () if front else ("wall height over thickness is 3.6, outside the frame's range of 1.5 to 3.3",),
        ports(b, pressure),
    )


def sweep(b: Body, top: float, *, per_MPa: float, onset: float, preload: float) -> Sweep:
    p = np.linspace(0.0, top, 25)
    levels = np.array([0.8, 1.0, 1.25]) if b.bolts else np.array([1.0])
    soft = np.maximum(0.0, p[None, :] / (onset * levels[:, None] / levels[0]) - 1)
    spread = per_MPa * p * (1 + 0.22 * soft**1.5)
    sign = (-1.0) ** np.arange(len(b.bolts))
    row = (np.arange(len(b.bolts)) // 4)[None, None, :] * 40.0
    force = preload * levels[:, None, None] + p[None, :, None] * (120.0 * sign + row) * (1 + soft[:, :, None])
    share = np.minimum(0.6, soft / 3)[:, :, None] * np.array([float(x.jointed) for x in b.bridges])
    return Sweep(p, spread, 0.97 * per_MPa * p * (1 + 0.2 * soft**1.5), force, share)


SERVICE = (("hard stop", "service", 10.0), ("proof", "proof", 15.0))
SIX = (
    ("parking on a 20 % slope, cold after a night outside at −20 °C", "service", 2.5),
    ("hard stop", "service", 10.0),
    ("hard stop, body at 180 °C & bolts at 150 °C", "service", 10.0),
    ("hard stop, worst friction", "service", 10.4),
    ("proof", "proof", 15.0),
    ("burst <1.5 x proof>", "burst", 22.5),
)


def variant(
    name: str,
    *,
    layout: str = "two-piece",
    bolts: tuple[tuple[float, float], ...] = BOLTS_4,
    centre: bool = False,
    per_MPa: float = 0.0205,
    onset: float = 11.2,
    preload: float = 45000.0,
    mass_body: float = 2.214,
    weak: float = 1.0,
    front: bool = True,
    cases: tuple[tuple[str, str, float], ...] = SERVICE,
) -> VariantResult:
    b = body(bolts=bolts, centre=centre, jointed=bool(bolts))
    parts = {"body": mass_body, "bolts": 0.047 * len(bolts), "pistons": 0.188, "fittings": 0.046}
    mass = Masses(
        **parts, total=sum(parts.values()), centre_of_mass=(0.3, 148.2, 0.0), volume_mm3=mass_body / 2.8e-6
    )
    top = max(c[2] for c in cases)
    faces = all_faces(b, top / onset)
    steps = (("tightened", 0.0), *((n, p) for n, _, p in cases)) if bolts else ()
    rows = tuple(
        case(n, k, p, b, mass, per_MPa=per_MPa, onset=onset, preload=preload, weak=weak, front=front)
        for n, k, p in cases
    )
    return VariantResult(
        name,
        layout,
        mass,
        b,
        rows,
        sweep(b, top, per_MPa=per_MPa, onset=onset if bolts else np.inf, preload=preload),
        faces,
        shape(middle_mm=1.06 * per_MPa * top, pressure=top, mesh=front),
        lives(b, preload, needed=0.8 * preload * top / onset),
        tuple(FaceStep(n, p, all_faces(b, p / onset)) for n, p in steps),
        centre_forms(b, total=mass.total, tilted=front),
        tuple(solid_case(c, len(bolts), onset=onset, preload=preload) for c in rows if bolts and front),
    )


def solid_case(c: CaseResult, bolts: int, *, onset: float, preload: float) -> SolidCase:
    """An invented answer of the 3-D solid: opens earlier and less than the front view."""
    pull = tuple(0.02 * preload * c.pressure / 10.0 + 400.0 * k for k in range(bolts))
    return SolidCase(
        c.name,
        c.pressure,
        0.93 * onset,
        tuple(0.97 * v for v in c.by_bore or ()),
        pull,
        min(1.0, 0.9 * onset / c.pressure),
        onset,
        c.by_bore or (),
        tuple(0.9 * f for f in pull),
    )


def centre_forms(b: Body, *, total: float, tilted: bool) -> tuple[CentreBridge, ...]:
    """Invented worth of the centre bridge, where the body has one."""
    names = [q.name for q in b.bridges[1:-1]]
    forms = (("none", -0.18, 0.31, None), ("integral", -0.02, 0.15, 1.0), ("bolts along z", 0.0, 0.16, 1.2))
    return tuple(
        CentreBridge(
            n, f, f == forms[-1][0], "stop", total + dm, bow, bow + 0.06, -4.1 if tilted else None, grams
        )
        for n in names
        for f, dm, bow, grams in forms
    )


SOAKED = "cold after hot soak"
LOSSES = {"scatter": 0.2, "settling": 0.03, "creep": 0.02}


def lives(b: Body, preload: float, *, needed: float) -> tuple[BoltLife, ...]:
    """Invented lives: shares of the preload, bolts a little unlike."""

    def stage(k: int, name: str, T: tuple[float, float], ends: tuple[float, ...], **more: float) -> LifeStage:
        low, mid, high = (preload * (e - 0.002 * k) for e in ends)
        losses = {
            c: preload * s
            for c, s in {**(LOSSES if name != "tightened" else {"scatter": 0.2}), **more}.items()
        }
        return LifeStage(name, *T, low, mid, high, losses)

    return tuple(
        BoltLife(
            k + 1,
            b.bridges[bolt.bridge].name,
            needed if np.isfinite(needed) and needed > 0 else None,
            56300.0,
            TorqueShares(0.12 * preload * 2e-3, 0.31 * preload * 2e-3, 0.35 * preload * 2e-3),
            (
                stage(k, "tightened", (20.0, 20.0), (0.8, 1.0, 1.25)),
                stage(k, "settled", (20.0, 20.0), (0.75, 0.95, 1.25)),
                stage(k, "hot", (120.0, 110.0), (0.98, 1.18, 1.5), temperature=-0.23),
                stage(k, "cold", (-20.0, -20.0), (0.66, 0.86, 1.16), temperature=0.09),
                stage(
                    k,
                    SOAKED,
                    (-20.0, -20.0),
                    (0.6, 0.8, 1.16),
                    **{"temperature": 0.09, "hot soak": 0.06},
                ),
            ),
        )
        for k, bolt in enumerate(b.bolts)
    )


CAUTIONS = (
    "Screening estimate only. Brakes can hurt people: validated finite-element analysis, proof, burst and fatigue "
    "tests, local codes and licensed practice decide.",
    "Openings are verified against 3-D solid models of the same simple body, not against measured hardware.",
)
INPUTS = {
    "format": 1,
    "study": {"title": "Front caliper of an invented hill-climb car", "note": "made up for this test"},
    "rotor": {"outer_radius_mm": 165.0, "thickness_mm": 28.0, "edge_clearance_mm": 3.0},
    "caliper": {
        "layout": "two-piece",
        "wall": {"length_mm": 224.0, "pockets": [{"x_mm": [-12, 12], "y_mm": [112, 124], "depth_mm": 6}]},
        "bore": [{"x_mm": -31.0, "y_mm": 136.0, "diameter_mm": 40.0}, {"x_mm": 31.0, "y_mm": 136.0}],
    },
}


def of(variants: tuple[VariantResult, ...], **changes: object) -> Results:
    base = Results(
        "Front caliper of an invented hill-climb car",
        "Invented scenario; no real car, caliper or part.",
        "3f" * 32,
        "0.1.0",
        CAUTIONS,
        ("caliper.wall.floor_mm = 9.0 (a fifth of the bore)", "caliper.bolt.scatter = 1.6 (torque wrench)"),
        "'one piece' opens least for its mass (51 µm less than 'two-piece, four bolts' at 0.12 kg less); it meets "
        "every check, worst margin 38 % on bore floor stress.",
        (),
        INPUTS,
        variants,
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def results() -> Results:
    return of(
        (
            variant("two-piece, four bolts"),
            variant(
                "two-piece, six bolts and centre bridge",
                bolts=BOLTS_6,
                centre=True,
                per_MPa=0.0147,
                onset=13.9,
                mass_body=2.288,
                weak=0.86,
            ),
            variant(
                "one piece",
                layout="monoblock",
                bolts=(),
                centre=True,
                per_MPa=0.0143,
                mass_body=2.31,
                weak=0.7,
            ),
        )
    )


def ugly() -> Results:
    long = "two-piece with the long-winded name somebody gave it on a Friday afternoon, <b>rev. 7</b> & final"
    return of(
        (
            variant(long, weak=1.5, cases=SIX),
            variant("onset never comes", onset=np.inf, cases=SIX, bolts=BOLTS_6, centre=True, per_MPa=0.0146),
            variant("frame only", front=False, cases=SIX),
            variant(
                "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamter",
                layout="monoblock",
                bolts=(),
                cases=SIX,
                per_MPa=0.0143,
            ),
            variant("fifth", cases=SIX, per_MPa=0.0208, mass_body=2.22),
        ),
        title="A title with <script>alert('x')</script> in it, and long enough to be broken over several lines",
        notices=(
            "Front view not run for 'frame only': gmsh does not load (libGLU.so.1). Install libglu1-mesa.",
        ),
        inputs={"study": {"title": "</pre><img src=x onerror=alert(1)>"}, "a": [1, 2, {"b": True}]},
        verdict="No variant meets every check; 'onset never comes' misses least (worst margin −26 %, clamp plane).",
    )
