"""A sign of life for work above a second: on stderr, on a terminal only."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread

PATIENCE_S = 1.0
"""Work shorter than this is silent. [s]"""
TICK_S = 0.2


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """Show that work goes on, and for how long, while the block runs.

    Parameters
    ----------
    words : str
        What is done. [-]

    Yields
    ------
    None
        Nothing is shown when stderr is no terminal, and nothing is left behind on it. [-]
    """
    if sys.stderr is None or not sys.stderr.isatty():
        yield
        return
    over = Event()
    shown = Thread(target=_show, args=(words, over), daemon=True)
    shown.start()
    try:
        yield
    finally:
        over.set()
        shown.join()


def _show(words: str, over: Event) -> None:
    if over.wait(PATIENCE_S):
        return
    stream = sys.stderr
    passed = PATIENCE_S
    try:
        while True:
            line = f"feedchar: {words}, {passed:.0f} s"
            stream.write(f"\r{line}")
            stream.flush()
            if over.wait(TICK_S):
                break
            passed += TICK_S
        stream.write("\r" + " " * len(line) + "\r")
        stream.flush()
    except (OSError, ValueError):
        pass  # the terminal has gone; the work goes on
