"""The catalogue as plain tables for printing, sources beside the values."""

from __future__ import annotations

from collections.abc import Callable

from stiffcalc.catalogue.fasteners import Grade, Thread, clearance_hole, grades, head, threads
from stiffcalc.catalogue.material import Material, materials
from stiffcalc.catalogue.rows import unknown_name
from stiffcalc.errors import InputError

Table = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]


def _text(value: float | None) -> str:
    return "-" if value is None else f"{value:g}"


def _memory(names: tuple[str, ...]) -> str:
    return ", ".join(names) if names else "-"


_MATERIAL_COLUMNS = (
    "name|what|E MPa|nu|density kg/m3|expansion 1e-6/K|yield MPa|ultimate MPa|strength is|head pressure MPa"
    "|fatigue 5e8 MPa|curves|from memory|source"
)
_THREAD_COLUMNS = (
    "name|series|d mm|P mm|d2 mm|d3 mm|D1 mm|stress area mm2|medium hole mm|head mm|status|source"
)
_GRADE_COLUMNS = "name|Rp0.2 MPa|Rm MPa|proof MPa|E MPa|expansion 1e-6/K|strength is|from memory|source"


def _material(m: Material) -> tuple[str, ...]:
    numbers = (m.E, m.nu, m.density_kg_m3, m.expansion_per_K * 1e6, m.yield_MPa, m.ultimate_MPa)
    seats = (m.head_pressure_MPa, m.fatigue_5e8_MPa)
    notes = (", ".join(m.curves) or "-", _memory(m.from_memory), m.source)
    return (m.name, m.description, *map(_text, numbers), m.basis, *map(_text, seats), *notes)


def _thread(t: Thread) -> tuple[str, ...]:
    sizes = tuple(f"{value:.3f}" for value in (t.d2, t.d3, t.D1))
    seats = map(_text, (clearance_hole(t.d), head(t.d).diameter))
    names = (t.name, t.series, _text(t.d), _text(t.P))
    return (
        *names,
        *sizes,
        f"{t.A_s:.2f}",
        *seats,
        t.status,
        f"{t.source}; hole ISO 273; head ISO 4762",
    )


def _grade(g: Grade) -> tuple[str, ...]:
    numbers = (g.yield_MPa, g.ultimate_MPa, g.proof_MPa, g.E, g.expansion_per_K * 1e6)
    return (g.name, *map(_text, numbers), g.basis, _memory(g.from_memory), g.source)


def _materials() -> Table:
    return tuple(_MATERIAL_COLUMNS.split("|")), tuple(map(_material, materials().values()))


def _threads() -> Table:
    return tuple(_THREAD_COLUMNS.split("|")), tuple(map(_thread, threads().values()))


def _grades() -> Table:
    return tuple(_GRADE_COLUMNS.split("|")), tuple(map(_grade, grades().values()))


KINDS: dict[str, Callable[[], Table]] = {"materials": _materials, "threads": _threads, "grades": _grades}


def tables(kind: str) -> Table:
    """Header and rows of the table `kind`: 'materials', 'threads' or 'grades'; every cell is text."""
    if kind not in KINDS:
        raise InputError([unknown_name(kind, KINDS, where="catalogue", what="table")])
    return KINDS[kind]()
