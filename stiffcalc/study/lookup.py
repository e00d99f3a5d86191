"""A layout of a study by its name."""

from __future__ import annotations

from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import Fault, InputError
from stiffcalc.study.schema import Design, Study


def design_named(study: Study, name: str) -> Design:
    """The layout of that name. Raises InputError, with the names there are, for one that is not there."""
    for design in study.designs:
        if design.name == name:
            return design
    names = [d.name for d in study.designs]
    begun = [n for n in names if n.startswith(name)]
    close = begun[0] if len(begun) == 1 else nearest(name, names)
    mend = f'write "{close}"' if close else "take one of these"
    raise InputError(
        [Fault("--variant", f'unknown layout "{name}"', ", ".join(f'"{n}"' for n in names), mend)]
    )
