"""What has to be done again when an input changes: rules as data, told by the paths of the study file."""

from __future__ import annotations

import fnmatch
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """Paths (a * stands for anything), what they are, what to do again and why."""

    paths: tuple[str, ...]
    changed: str
    redo: tuple[str, ...]
    why: str


SOLID = "solid model, mesh and every figure of it"
TESTS = "stiffness, proof, burst and fatigue tests"
READ = "readings, and any correction by them"
JOINT = "tightening trial (torque against preload) of the joint"

# common practice, no source: which work a change undoes
RULES = (
    Rule(
        ("rotor.thickness_mm", "pad.thickness_mm", "pad.running_clearance_mm"),
        "rotor or pad thickness",
        ("body, bridges and bolt lengths", "mass", SOLID, TESTS, READ),
        "the gap between the halves is rotor, two pads and clearances: bridges and bolts follow it",
    ),
    Rule(
        ("rotor.outer_radius_mm", "rotor.edge_clearance_mm"),
        "rotor size",
        ("arch of every bridge", "wheel clearance", "brake torque", SOLID, TESTS, READ),
        "bridges are cut by the rotor's circle; the rotor's edge sets the room under them",
    ),
    Rule(
        ("rotor.*",),
        "rotor",
        ("heat of the stop: temperatures of body and fluid", "brake torque"),
        "the rotor's mass and size set how hot it gets",
    ),
    Rule(
        ("pad.friction*",),
        "pad friction",
        ("brake torque and balance", "slip of the clamp plane under drag", "mounting lugs and their bolts"),
        "drag is clamp force times friction",
    ),
    Rule(
        ("pad.compressibility*",),
        "pad compressibility",
        ("fluid volume", "pedal travel", "readings of fluid volume"),
        "pads take a large share of the fluid; the body does not feel them",
    ),
    Rule(
        ("pad.*",),
        "pad",
        (
            "fit of the pad, abutments and retention",
            "pad taper and wear",
            "clamp force against stagger over wear",
        ),
        "pressure centre, taper and retention belong to that pad",
    ),
    Rule(
        ("caliper.bore*", "caliper.fluid_depth_mm"),
        "bores",
        (
            "clamp force, brake torque and front to rear balance",
            "master cylinder and pedal travel",
            "floors, hoops and ligaments",
            "pistons, seals and knock-back",
            SOLID,
            TESTS,
            READ,
        ),
        "bore area sets clamp force and fluid; the metal round a bore carries the pressure",
    ),
    Rule(
        ("caliper.piston*",),
        "pistons",
        ("mass", "heat into the fluid", "seals"),
        "pistons carry heat to the fluid and roll the seals back",
    ),
    Rule(("caliper.fittings_g",), "fittings", ("mass",), "they are weighed and carry nothing"),
    Rule(
        ("caliper.material", "material.*", "caliper.bridge*.material"),
        "alloy",
        (
            "strength and fatigue at temperature, from certificates",
            "thread engagement and pressure under the heads",
            "preload through life: expansion, creep",
            "corrosion, coating and mating of bolts",
            SOLID,
            TESTS,
            READ,
        ),
        "modulus, strength, expansion and creep all change together",
    ),
    Rule(
        ("caliper.bolt*", "caliper.dowel*"),
        "bolts",
        (JOINT, "preload through life", "onset, slip, thread, head and bolt fatigue", TESTS, READ),
        "preload and its scatter belong to that bolt, thread, lubricant and tool",
    ),
    Rule(
        ("caliper.abutment*",),
        "abutments",
        ("fit of the pad and its backing plate", "bearing pressure under drag", SOLID, TESTS),
        "they take the drag of the pads",
    ),
    Rule(
        ("caliper.lug*",),
        "lugs",
        ("mass", "lug bolts, knuckle and its tolerances", SOLID, TESTS),
        "the body is mounted by them; nothing here checks them",
    ),
    Rule(
        ("caliper.joint*", "caliper.port*"),
        "clamp plane",
        ("slip and seal of the clamp plane", JOINT, "pressure test of ports"),
        "friction, reliefs and seals of the clamp plane decide slip and leak",
    ),
    Rule(
        (
            "caliper.layout",
            "caliper.wall*",
            "caliper.inboard*",
            "caliper.outboard*",
            "caliper.bridge*",
            "section*",
        ),
        "body",
        ("sections and fillets", "mass", "wheel and knuckle clearance", SOLID, TESTS, READ),
        "stiffness and stress belong to that shape",
    ),
    Rule(
        ("caliper.*",),
        "caliper",
        (SOLID, TESTS, READ),
        "the layout is another one",
    ),
    Rule(
        ("load_case*",),
        "load cases",
        ("every check", "proof, burst and fatigue tests at the new loads"),
        "checks and tests are made at these pressures and temperatures",
    ),
    Rule(
        ("life.*",),
        "temperatures of life",
        ("preload through life", "hot and cold checks of the joint"),
        "heat and cold move the preload",
    ),
    Rule(
        ("limits.*",), "limits", ("agreement on the limits",), "figures stand; what is asked of them changed"
    ),
    Rule(("bolts.*",), "search of bolts", ("matrix of bolts",), "only the search uses it"),
    Rule(
        ("explore.*",), "layouts at equal mass", ("comparison at equal mass",), "only the comparison uses it"
    ),
    Rule(("size.*",), "sizing of sections", ("sizing",), "only the sizing uses it"),
    Rule(("sweep.*",), "search over keys", ("sweep",), "only the search uses it"),
    Rule(("uncertainty.*",), "what scatters", ("probabilities",), "only the drawing of bodies uses it"),
)
SILENT = ("study.*", "format")  # words, and the format itself


@dataclass(frozen=True)
class Redo:
    """A rule that applies, and the paths that called for it."""

    rule: Rule
    paths: tuple[str, ...]


def redo(paths: Iterable[str]) -> tuple[Redo, ...]:
    """Rules called for by changed paths, in the order of RULES; each path calls for the first rule that knows it.

    A path inside a variant, `variant["name"].set.caliper...`, counts as what it sets.
    """
    called: dict[Rule, list[str]] = {}
    for path in paths:
        rule = _rule(_inner(path))
        if rule is not None:
            called.setdefault(rule, []).append(path)
    return tuple(Redo(r, tuple(called[r])) for r in RULES if r in called)


def _inner(path: str) -> str:
    return path.split("].set.", 1)[-1] if path.startswith("variant[") else path


def _rule(path: str) -> Rule | None:
    if any(fnmatch.fnmatchcase(path, p) for p in SILENT):
        return None
    return next((r for r in RULES if any(fnmatch.fnmatchcase(path, p) for p in r.paths)), None)
