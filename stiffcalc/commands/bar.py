"""A progress bar on standard error."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

WIDTH = 24
LINES = 10  # where standard error is no terminal: a line for each tenth

Bar = Callable[[int, str], None]


def bar(total: int, what: str, *, quiet: bool) -> Bar:
    """What is told how many are done, with a word on them; rate and time left count from now."""
    start, first, shown = time.monotonic(), -1, -1
    terminal = sys.stderr.isatty()

    def tell(done: int, word: str) -> None:
        nonlocal first, shown
        first = done if first < 0 else first
        if not terminal and done * LINES // total == shown:
            return
        shown = done * LINES // total
        spent = time.monotonic() - start
        rate = (done - first) / spent if spent > 0 else 0.0
        speed = f", {rate:.0f}/s" if rate >= 1.0 else ""
        left = f"{speed}, {(total - done) / rate:.0f} s left" if rate > 0 and done < total else ""
        filled = WIDTH * done // total
        line = f"[{'#' * filled}{'.' * (WIDTH - filled)}] {done}/{total} {what}{left}, {word}"
        end = "\n" if done >= total or not terminal else ""
        print(f"\r\x1b[K{line}" if terminal else line, end=end, file=sys.stderr, flush=True)

    return (lambda done, word: None) if quiet else tell
