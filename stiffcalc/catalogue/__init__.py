"""What is known before any study: materials, threads, bolt grades, holes and heads, each with its source."""

from stiffcalc.catalogue.fasteners import (
    Grade,
    Head,
    Thread,
    clearance_hole,
    grade,
    grades,
    head,
    thread,
    threads,
)
from stiffcalc.catalogue.listing import tables
from stiffcalc.catalogue.material import Curve, Material, Properties, material, materials

__all__ = [
    "Curve",
    "Grade",
    "Head",
    "Material",
    "Properties",
    "Thread",
    "clearance_hole",
    "grade",
    "grades",
    "head",
    "material",
    "materials",
    "tables",
    "thread",
    "threads",
]
