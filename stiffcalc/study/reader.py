"""Study file in, validated study out; every fault of the file at once."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from stiffcalc.errors import Fault, InputError
from stiffcalc.study import file
from stiffcalc.study.bolts import bridge_faults, read_bolts
from stiffcalc.study.breach import SplitError, apart, uniform
from stiffcalc.study.explore import read_explore
from stiffcalc.study.fields import Log, Table, Used, shown, subtable, subtables, text
from stiffcalc.study.fit import body_faults
from stiffcalc.study.fit_abutments import abutment_faults
from stiffcalc.study.fit_bolts import bolt_faults, loose_bolts
from stiffcalc.study.fit_clamp_plane import clamp_plane_faults, idle_faults
from stiffcalc.study.fit_lugs import lug_faults
from stiffcalc.study.fit_pads import pad_faults
from stiffcalc.study.outlines import read_sections
from stiffcalc.study.parts import Parts, has_shaped_walls, read_caliper
from stiffcalc.study.pockets import read_pockets
from stiffcalc.study.schema import (
    BoltSearch,
    Design,
    ExplorePlan,
    PocketPlan,
    SizePlan,
    Study,
    SweepPlan,
    Uncertainty,
)
from stiffcalc.study.sections import (
    read_life,
    read_limits,
    read_load_cases,
    read_materials,
    read_pad,
    read_rotor,
)
from stiffcalc.study.sense import design_faults, same_names
from stiffcalc.study.size import read_size
from stiffcalc.study.sweep import read_sweep, unknown_faults
from stiffcalc.study.uncertainty import read_uncertainty
from stiffcalc.study.variants import SETTABLE, touches, with_set

FORMAT = 1


def load(path: str | Path) -> Study:
    """Read and validate a study file.

    Raises InputError, which carries one Fault (where, found, allowed, mend) for each thing wrong.
    """
    content = file.read_bytes(Path(path))
    raw = file.parse_toml(file.decode(content, where=str(path)), where=str(path))
    return _study(raw, hashlib.sha256(content).hexdigest())


def parse(source: str | Mapping[str, object]) -> Study:
    """Validate a study given as TOML text or as the dictionary read from it; errors as for `load`."""
    if isinstance(source, str):
        return _study(file.parse_toml(source, where="text"), _sha256(source))
    canonical = json.dumps(source, sort_keys=True, default=str)
    return _study(dict(source), _sha256(canonical))


def _sha256(content: str) -> str:
    return hashlib.sha256(content.encode("utf-8", "surrogatepass")).hexdigest()


@dataclass(frozen=True)
class _Variant:
    """A variant as it stands in the file."""

    where: str
    name: str
    changes: Mapping[str, object]


def _study(raw: dict[str, Any], sha256: str) -> Study:
    log = Log()
    root = Table(raw, "", log)
    _check_format(root)
    title, note, base_name = _read_heading(subtable(root, "study", required=True))
    variants = _read_variants(root)
    base = _read_design(raw, base_name, log)
    root.asked.update(_SECTIONS)
    root.finish()
    designs = [base]
    log.faults.extend(same_names("variant", (v.name for v in variants)))
    # Without these there is no base to vary, and a path would seem to make one.
    if all(isinstance(raw.get(key), Mapping) for key in ("rotor", "pad", "caliper")):
        designs += [_read_variant(variant, raw, base_name, log) for variant in variants]
    log.faults.extend(idle_faults(designs))
    search = _read_search(root, designs)
    sections = read_sections(root, material=base.caliper.material.name)
    plan = _read_sweep(root, raw, [base_name, *(v.name for v in variants)])
    scatter = _read_scatter(root)
    free = _read_explore(root, [base_name, *(v.name for v in variants)])
    milled, sizing = _read_pockets(root), _read_size(root)
    if log.faults:
        raise InputError(dict.fromkeys(log.faults))
    used = tuple(_lines(log.used))
    return Study(
        title, note, sha256, tuple(designs), used, raw, search, sections, plan, scatter, free, milled, sizing
    )


def _read_search(root: Table, designs: Iterable[Design]) -> BoltSearch:
    """[bolts]. Its defaults are kept apart: an assessment does not use them."""
    used = Log(faults=root.log.faults)
    table = subtable(replace(root, log=used), "bolts")
    search = read_bolts(table, stated=root.has("bolts"))
    used.faults.extend(bridge_faults(search, designs))
    return replace(search, defaults_used=tuple(_lines(used.used)))


def _read_sweep(root: Table, raw: Mapping[str, object], layouts: list[str]) -> SweepPlan | None:
    """[sweep], where the file has it; unknown paths only where the rest can be read."""
    if not root.has("sweep"):
        return None
    used = Log(faults=root.log.faults)
    plan = read_sweep(subtable(replace(root, log=used), "sweep"), layouts=layouts)
    if not used.faults:
        used.faults.extend(sweep_faults(plan, raw))
    return replace(plan, defaults_used=tuple(_lines(used.used)))


def _read_scatter(root: Table) -> Uncertainty:
    """[uncertainty]. Its defaults are kept apart: an assessment does not use them."""
    used = Log(faults=root.log.faults)
    found = read_uncertainty(subtable(replace(root, log=used), "uncertainty"))
    return replace(found, defaults_used=tuple(_lines(used.used)))


def _read_explore(root: Table, layouts: list[str]) -> ExplorePlan:
    """[explore]. Its defaults are kept apart: an assessment does not use them."""
    used = Log(faults=root.log.faults)
    found = read_explore(subtable(replace(root, log=used), "explore"), layouts=layouts)
    return replace(found, defaults_used=tuple(_lines(used.used)))


def _read_pockets(root: Table) -> PocketPlan:
    """[pockets]. Its defaults are kept apart: an assessment does not use them."""
    used = Log(faults=root.log.faults)
    found = read_pockets(subtable(replace(root, log=used), "pockets"))
    return replace(found, defaults_used=tuple(_lines(used.used)))


def _read_size(root: Table) -> SizePlan | None:
    """[size], where the file has it."""
    if not root.has("size"):
        return None
    used = Log(faults=root.log.faults)
    plan = read_size(subtable(replace(root, log=used), "size"))
    return replace(plan, defaults_used=tuple(_lines(used.used)))


def sweep_faults(plan: SweepPlan, source: Mapping[str, object]) -> list[Fault]:
    """Paths of a plan that its layout of the study `source` does not know."""
    own = layout_changes(source, plan.layout)
    return unknown_faults(
        list(enumerate(plan.keys, start=1)),
        lambda changes: read_design(source, plan.layout, {**own, **changes})[1],
        where="sweep.key",
    )


def layout_changes(source: Mapping[str, Any], name: str) -> Mapping[str, object]:
    """The paths that the variant of that name sets in the file `source`; none for the base."""
    found: Mapping[str, object]
    for variant in source.get("variant", ()):
        if variant["name"] == name:
            found = variant["set"]
            return found
    return {}


def read_design(
    source: Mapping[str, object], name: str, changes: Mapping[str, object]
) -> tuple[Design, tuple[Fault, ...]]:
    """The base of the file `source` with paths set, as a variant; not to be used where there are faults."""
    design, faults = read_batch(source, name, changes, 1)
    return design, faults.get(0, ())


def read_batch(
    source: Mapping[str, object], name: str, changes: Mapping[str, object], count: int
) -> tuple[Design, dict[int, tuple[Fault, ...]]]:
    """`read_design` of many: a number in `changes` may be an array (D,), one for each of `count` designs.

    Gives the batch (`mechanics.trees`) and the faults of each design that has any; its numbers are then not to be
    used. Raises SplitError where designs differ in more than numbers, or their walls can be read one by one only.
    """
    changed, faults = with_set({k: v for k, v in source.items() if k in SETTABLE}, changes)
    if count > 1 and has_shaped_walls(changed):
        raise SplitError(np.arange(count))
    log = Log(faults=faults)
    design = _read_design(changed, name, log, changes)
    Table(changed, "", log, asked=set(_SECTIONS)).finish()
    return design, apart(log.breaches(), count)


_SECTIONS = (
    "format",
    "study",
    "rotor",
    "pad",
    "caliper",
    "load_case",
    "material",
    "limits",
    "life",
    "variant",
    "bolts",
    "section",
    "sweep",
    "uncertainty",
    "pockets",
    "explore",
    "size",
)


def _check_format(root: Table) -> None:
    found = root.take("format")
    if not root.has("format"):
        root.missing("format", f"{FORMAT}")
    elif isinstance(found, bool) or found != FORMAT or not isinstance(found, int):
        root.log.wrong("format", found, f"{FORMAT}", "write format = 1; other formats are not known")


def _read_heading(table: Table) -> tuple[str, str, str]:
    """Title, note and the name of the base design."""
    title = text(table, "title")
    note = text(table, "note") if table.has("note") else ""
    base = text(table, "base") if table.has("base") else "base"
    table.asked.update(("note", "base"))
    table.finish()
    return title, note, base


def _read_variants(root: Table) -> list[_Variant]:
    variants = []
    for table in subtables(root, "variant"):
        name = text(table, "name")
        changes = subtable(table, "set", required=True)
        if changes.whole and not changes.raw:
            root.log.fault(
                changes.where,
                "an empty table",
                "at least one path",
                'such as { "caliper.layout" = "monoblock" }',
            )
        table.finish()
        variants.append(_Variant(f'{table.where} "{name}"', name, changes.raw))
    return variants


def _read_design(
    raw: Mapping[str, object], name: str, log: Log, changes: Mapping[str, object] | None = None
) -> Design:
    """One design out of a whole file; faults and defaults go to the log."""
    root = Table(raw, "", log)
    own = read_materials(root)
    rotor = read_rotor(subtable(root, "rotor", required=True))
    pad = read_pad(subtable(root, "pad", required=True))
    parts = read_caliper(subtable(root, "caliper", required=True), own)
    cases, limits = read_load_cases(root), read_limits(subtable(root, "limits"))
    life = read_life(subtable(root, "life"), cases)
    design = Design(name, rotor, pad, parts.caliper, cases, limits, life)
    if changes is not None:
        parts = _without_base_ports(_without_base_bolts(parts, design, changes, log), changes, log)
        design = replace(design, caliper=parts.caliper)
    log.extend(design_faults(design))
    log.extend(body_faults(parts, rotor))
    log.extend(bolt_faults(parts, rotor))
    log.extend(clamp_plane_faults(parts, rotor))
    log.extend(pad_faults(parts, rotor))
    log.extend(abutment_faults(parts, rotor, pad))
    log.extend(lug_faults(parts, rotor))
    return design


def _without_base_bolts(parts: Parts, design: Design, changes: Mapping[str, object], log: Log) -> Parts:
    """A variant that makes the base one-piece leaves out its bolts, except those of bolted-in bridges."""
    one_piece = parts.caliper.layout == "monoblock" and touches(changes, "caliper", "layout")
    if not one_piece or touches(changes, "caliper", "bolt"):
        return parts
    loose = {where for where, lies in loose_bolts(parts, design.rotor).items() if uniform(lies)}
    kept = [(w, b) for w, b in zip(parts.bolts, parts.caliper.bolts, strict=True) if w not in loose]
    if loose:
        why = "a one-piece variant leaves out the base's bolts but those of bolted-in bridges"
        log.used.append(Used("caliper.bolt", f"{len(kept)} of {len(parts.bolts)}", why))
    pins = [(w, d) for w, d in zip(parts.dowels, parts.caliper.dowels, strict=True) if w not in loose]
    caliper = replace(parts.caliper, bolts=tuple(b for _, b in kept), dowels=tuple(d for _, d in pins))
    return replace(parts, caliper=caliper, bolts=tuple(w for w, _ in kept), dowels=tuple(w for w, _ in pins))


def _without_base_ports(parts: Parts, changes: Mapping[str, object], log: Log) -> Parts:
    """A variant that makes the base one-piece leaves out its ports: no clamp plane is crossed."""
    one_piece = parts.caliper.layout == "monoblock" and touches(changes, "caliper", "layout")
    if not parts.ports or not one_piece or touches(changes, "caliper", "port"):
        return parts
    why = "a one-piece variant leaves out the base's ports"
    log.used.append(Used("caliper.port", f"0 of {len(parts.ports)}", why))
    return replace(parts, caliper=replace(parts.caliper, ports=()), ports=())


def _read_variant(variant: _Variant, raw: Mapping[str, object], base_name: str, log: Log) -> Design:
    """The base with the variant's paths set; notes only what the base did not show already."""
    changed, faults = with_set(raw, variant.changes)
    own = Log(faults=faults)
    design = _read_design(changed, variant.name, own, variant.changes)
    root = Table(changed, "", own, asked=set(_SECTIONS))
    root.finish()
    if variant.name == base_name:
        own.fault("name", f'duplicate name "{base_name}"', "a name other than the base's", "rename it")
    known, listed = set(log.faults), {(u.where, str(u.value)) for u in log.used}
    prefix = f"{variant.where}: "
    log.faults.extend(replace(f, where=prefix + f.where) for f in own.faults if f not in known)
    log.used.extend(
        replace(u, where=prefix + u.where) for u in own.used if (u.where, str(u.value)) not in listed
    )
    return design


_INDEX = re.compile(r"\[(\d+)\](?=\.[^.\[\]]*$)")


def _lines(used: Iterable[Used]) -> list[str]:
    """One line for each default; equal ones in a list are joined: `caliper.bolt[1,2,4].hole_mm = 11`."""
    groups: dict[tuple[str, str, str], dict[str, None]] = {}
    for item in used:
        index = _INDEX.search(item.where)
        place = _INDEX.sub("[#]", item.where)
        groups.setdefault((place, _value(item.value), item.why), {})[index[1] if index else ""] = None
    return [
        f"{place.replace('[#]', '[' + ','.join(indexes) + ']')} = {value} ({why})"
        for (place, value, why), indexes in groups.items()
    ]


def _value(value: object) -> str:
    if value is None:
        return "left out"
    if isinstance(value, tuple):
        return "[" + ", ".join(shown(part) for part in value) + "]"
    return shown(value)
