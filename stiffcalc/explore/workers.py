"""Chunks of work handed to processes, here or elsewhere, few at a time: results come as they are done."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, Future, wait
from typing import Any, TypeVar

from stiffcalc.errors import Fault, InputError, StiffcalcError
from stiffcalc.version import __version__

PATIENCE_S = 10.0  # for a scheduler to answer
AHEAD = 3  # chunks waiting at each worker, so that none is idle and results never pile up
MEND = "pip install 'stiffcalc[cluster]'"

T = TypeVar("T")


def run(
    work: Callable[[int], T], wanted: Sequence[int], *, executor: Executor | None = None, workers: int = 1
) -> Iterator[tuple[int, T]]:
    """`work` of each number, as done; here without an executor. `work` must be importable where it is done.

    Raises what `work` raises, and `StiffcalcError` where the executor breaks down.
    """
    if executor is None:
        yield from ((number, work(number)) for number in wanted)
        return
    left, running = iter(wanted), dict[Future[T], int]()
    try:
        while True:
            for number in left:
                running[executor.submit(work, number)] = number
                if len(running) >= AHEAD * workers:
                    break
            if not running:
                return
            for done in wait(running, return_when=FIRST_COMPLETED).done:
                yield running.pop(done), done.result()
    except (BrokenExecutor, CancelledError) as error:
        raise StiffcalcError("a worker process died; what is done is kept: go on with --resume") from error
    finally:
        for future in running:
            future.cancel()


def deaf_to_interrupts() -> None:
    """For worker processes: an interrupt at the terminal is the parent's to handle."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def scheduler(address: str) -> tuple[Executor, int]:
    """The executor of a distributed scheduler, and how many workers it has.

    A task whose worker dies is given to another one. Raises InputError without the package `distributed`, where nobody
    answers, without workers, or where they have another version of stiffcalc.
    """
    try:
        from distributed import Client as connect
    except ImportError as error:
        raise _refusal("no package distributed", "it installed", MEND) from error
    try:
        made: Any = connect
        client = made(address, timeout=PATIENCE_S, set_as_default=False)
    except (OSError, ValueError) as error:
        found = f"no scheduler at {address}"
        raise _refusal(found, "the address of a running scheduler", "such as tcp://host:8786") from error
    versions = set(client.run(_version).values())
    if versions != {__version__}:
        found = (
            f"workers with stiffcalc {', '.join(sorted(versions))}"
            if versions
            else "a scheduler without workers"
        )
        client.close()
        raise _refusal(found, f"workers with stiffcalc {__version__}", "start them in this environment")
    return client.get_executor(pure=False), len(client.scheduler_info()["workers"])


def _version() -> str:
    return __version__


def _refusal(found: str, allowed: str, mend: str) -> InputError:
    return InputError([Fault("--scheduler", found, allowed, mend)])
