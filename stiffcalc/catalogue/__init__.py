"""What is known before any study: materials, threads, bolt grades, holes and heads, each with its source."""

from stiffcalc.catalogue.assembly import Embedding, Scatter, embedding, nut_factors, scatters
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
    "Embedding",
    "Grade",
    "Head",
    "Material",
    "Properties",
    "Scatter",
    "Thread",
    "clearance_hole",
    "embedding",
    "grade",
    "grades",
    "head",
    "material",
    "materials",
    "nut_factors",
    "scatters",
    "tables",
    "thread",
    "threads",
]
