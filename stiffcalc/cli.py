"""The command line: arguments -> calls -> exit status. With `commands` the only place that prints, alone the one
that catches.

Exit status: 0 done, 1 a calculation failed, 2 bad input or an output that cannot be written.
"""

from __future__ import annotations

import argparse
import io
import os
import re
import sys
from collections.abc import Iterable, Sequence
from importlib import import_module
from typing import NoReturn

from stiffcalc.errors import Fault, InputError, StiffcalcError
from stiffcalc.exchange import files
from stiffcalc.quantities import CAUTION
from stiffcalc.version import __version__

DESCRIPTION = (
    "Structural pre-design of fixed (opposed-piston) disc-brake calipers: how far the body opens under pressure, "
    "whether the joint holds, what it weighs, and which layout is better."
)
COMMANDS = {  # a module of `commands` each: add(parser), run(arguments) -> exit status
    "assess": "answer a study: opening, joint, mass, checks, layouts compared",
    "bolts": "try bolt counts, sizes, grades and row positions on one layout",
    "sweep": "try many designs around one layout: feasible ones, the front, the best",
    "compare": "layouts at equal mass: each at its least spread over a series of masses",
    "pockets": "where the metal of the outer faces should be, and pockets that follow it",
    "sensitivity": "what each dimension does to spread, tilt, mass and worst margin",
    "uncertainty": "what scatter does: a band on the opening, how likely each check is met",
    "section": "fillets, bolt holes, joint faces and idle metal in plane stress",
    "size": "least mass of the sections through bridges under limits on stress",
    "correlate": "readings of a bench or a solid model beside the prediction",
    "diff": "what differs between two studies, and what to do again",
    "handover": "solids, mesh, loads and expectations for the FE analyst",
    "check": "validate a study file and list what was left to defaults",
    "new": "write a commented starting study",
    "catalogue": "print what is known, with sources",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal that lacks a sign shows a question mark instead
            stream.reconfigure(errors="replace")
    words = sys.argv[1:] if argv is None else argv
    if "--solid" not in words:
        _one_thread()
    try:
        arguments = parser(asked=words[0] if words else "").parse_args(words)
        if getattr(arguments, "json", None):
            files.refuse_no_file(arguments.json)
        status = int(arguments.run(arguments))
        sys.stdout.flush()
        return status
    except BrokenPipeError:  # whoever read the output has seen enough, such as `head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nor may closing at exit complain
        return 1
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    except StiffcalcError as error:
        print(f"calculation failed: {error}", file=sys.stderr)
        return 1
    except OSError as error:
        print(lost(error), file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("stopped; nothing was written", file=sys.stderr)
        return 130


def lost(error: OSError) -> Fault:
    """What a disk refuses once the work is done, or a file that vanished."""
    where, found = error.filename or "a file", error.strerror or str(error)
    return Fault(
        str(where), found, "a place that can be read and written", "make room or choose another place"
    )


def _one_thread() -> None:
    """Let linear algebra, not loaded yet, run on one thread, unless whoever started us has set their number.

    On matrices as small as ours threads wait for each other longer than they work, on a busy machine for minutes.
    """
    if not {"OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"} & os.environ.keys():
        os.environ["OPENBLAS_NUM_THREADS"] = "1"


def parser(asked: str) -> argparse.ArgumentParser:
    """All commands by name; only the one asked for is imported and given its arguments, for a short start."""
    top = _Parser(prog="stiffcalc", description=DESCRIPTION, epilog=CAUTION)
    top.add_argument("--version", action="version", version=f"stiffcalc {__version__}")
    commands = top.add_subparsers(required=True, metavar="COMMAND")
    for name, words in COMMANDS.items():
        one = commands.add_parser(name, help=words, description=words, epilog=CAUTION)
        if name == asked:
            module = import_module(f"stiffcalc.commands.{name}")
            module.add(one)
            one.set_defaults(run=module.run)
            # it is the one that finds what no command knows
            top.prog, top.known = one.prog, tuple(one._option_string_actions)
    return top


class _Parser(argparse.ArgumentParser):
    """A parser whose faults are those of any other bad input, a line each, instead of its usage and an exit."""

    known: tuple[str, ...] = ()  # options of the command that was asked for

    def error(self, message: str) -> NoReturn:
        """Raise InputError."""
        raise InputError([usage_fault(message, self.prog, self.known)])


def usage_fault(message: str, program: str, known: Sequence[str] = ()) -> Fault:
    """What argparse says of a bad command line, as a fault; words that are not known stay as they are.

    known: the command's options, of which the ones nearest to what was written are named.
    """
    helped = f"see {program} --help"
    if named := re.fullmatch(r"the following arguments are required: (.+)", message):
        return Fault(named[1], "nothing", "one value for each", helped)
    if named := re.fullmatch(r"unrecognized arguments: (.+)", message):
        written = [word.split("=")[0] for word in named[1].split() if word.startswith("--")]
        mend = _nearest(written, known) or helped
        return Fault(program, f"unknown argument {named[1]}", "what the command's --help lists", mend)
    named = re.fullmatch(r"argument ([^:]+): (.+)", message)
    if named is None:
        return Fault(program, message, "what the command's --help lists", helped)
    where, said = named.groups()
    if typed := re.fullmatch(r"invalid (int|float) value: '(.*)'", said):
        allowed = "a whole number" if typed[1] == "int" else "a number"
        return Fault(where, f'"{typed[2]}"', allowed, "write digits, without unit")
    if chosen := re.fullmatch(r"invalid choice: '(.*)' \(choose from (.+)\)", said):
        allowed = chosen[2].replace("'", "")
        mend = _nearest([chosen[1]], allowed.split(", ")) or "take one of these"
        return Fault(where, f'"{chosen[1]}"', allowed, mend)
    if said == "expected one argument":
        return Fault(where, "nothing behind it", "one value", helped)
    return Fault(where, said, "what the command's --help lists", helped)


def _nearest(written: Iterable[str], known: Sequence[str]) -> str:
    """What to write instead; nothing where no known word looks like it."""
    from stiffcalc.catalogue.rows import nearest  # only here: the catalogue is no part of a short start

    close = dict.fromkeys(nearest(word, known) for word in written)
    return f"write {', '.join(c for c in close if c)}" if any(close) else ""
