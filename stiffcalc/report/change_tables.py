"""What differs between two studies, as text for the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from stiffcalc.caliper.results import Check
from stiffcalc.explore.changes import Changes, Flip, Moved
from stiffcalc.quantities import quantity
from stiffcalc.report import words

SHOWN = 20  # most moved figures; the JSON has all
LISTED = 60  # inputs; the JSON has all
VALUE = 60  # characters of an input value


def terminal(c: Changes, width: int = 100) -> str:
    """Inputs, figures, checks and what to do again; at most `width` columns where names allow."""
    parts = [
        _wrap([f"A: {c.titles[0]} ({c.sha256[0][:12]})", f"B: {c.titles[1]} ({c.sha256[1][:12]})"], width),
        _part(f"Inputs that differ: {len(c.inputs)}", _inputs(c), width),
        _part(_variants(c), (), width),
        _part(_counted(c), (), width) + _moved(c.moved[:SHOWN], width),
        _part(f"Checks that flipped: {len(c.flips)}", (_flip(f) for f in c.flips), width),
        _part("To do again" + ("" if c.redo else ": nothing"), _redo(c), width),
        _wrap((f"Note: {n}" for n in c.notices), width),
        _wrap((f"Caution: {n}" for n in c.cautions), width),
    ]
    return "\n\n".join(p for p in parts if p) + "\n"


def _wrap(lines: Iterator[str] | Sequence[str], width: int, indent: str = "") -> str:
    return "\n".join(
        textwrap.fill(" ".join(line.split()), width, initial_indent=indent, subsequent_indent=indent + "    ")
        for line in lines
    )


def _part(head: str, lines: Iterator[str] | Sequence[str], width: int) -> str:
    body = _wrap(lines, width, indent="  ")
    return f"{textwrap.fill(head, width)}\n{body}" if body else textwrap.fill(head, width)


def _inputs(c: Changes) -> Iterator[str]:
    for i in c.inputs[:LISTED]:
        yield f"{i.path}: {_value(i.a)} -> {_value(i.b)}"
    if len(c.inputs) > LISTED:
        yield f"and {len(c.inputs) - LISTED} more, in the JSON"


def _value(value: object) -> str:
    """As the file has it, cut short."""
    if value is None:
        return "left out"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = " ".join(text.split()) if not isinstance(value, bool) else text.lower()
    return text if len(text) <= VALUE else text[: VALUE - 3] + "..."


def _variants(c: Changes) -> str:
    said = [f"Same body in both: {', '.join(c.same)}." if c.same else "No variant has the same body in both."]
    said += [
        f"Only in {side}: {', '.join(names)}." for side, names in zip("AB", c.only, strict=True) if names
    ]
    return " ".join([*said, "Variants are matched by name."] if any(c.only) else said)


def _counted(c: Changes) -> str:
    more = f", the first {SHOWN}" if len(c.moved) > SHOWN else ""
    return f"Figures that moved by more than {c.threshold:g} %: {len(c.moved)} of {c.compared}{more}"


def _moved(moved: Sequence[Moved], width: int) -> str:
    """A line each: the change, where, what, both figures."""
    lines = (textwrap.fill(_move(m), width, subsequent_indent=" " * 14) for m in moved)
    return "".join(f"\n{line}" for line in lines)


def _move(m: Moved) -> str:
    q = quantity(m.key)
    change = "" if m.moved is None else quantity("moved").with_unit(m.moved)
    signed = change if not change or change.startswith("−") else f"+{change}"
    where = ", ".join(part for part in (m.variant, m.case) if part)
    return f"{signed:>11}  {where}: {m.what} {q.text(m.a)} -> {q.text(m.b)} {q.shown}".rstrip()


def _flip(f: Flip) -> str:
    return f"{f.variant}, {f.case}: {f.what}: {_met(f.a)} -> {_met(f.b)}"


def _met(check: Check | None) -> str:
    if check is None:
        return "no such check"
    return f"{'met' if check.met else 'NOT MET'} ({words.margin(check)})"


def _redo(c: Changes) -> Iterator[str]:
    for r in c.redo:
        count = "" if len(r.paths) == 1 else f" and {len(r.paths) - 1} more"
        yield f"{r.rule.changed} ({r.paths[0]}{count}): {'; '.join(r.rule.redo)}. Why: {r.rule.why}."
