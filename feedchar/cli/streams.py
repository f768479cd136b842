"""The answer on stdout, all talk on stderr, and a reader who leaves early is no error."""

from __future__ import annotations

import os
import sys

from feedchar.errors import OutputError


def send(text: str) -> None:
    """Put a part of the answer on stdout.

    Parameters
    ----------
    text : str
        What to show, line ends included. [-]

    Raises
    ------
    OutputError
        When there is no stdout, or the device behind it is full.
    """
    if sys.stdout is None:
        message = "standard output is closed: there is nowhere to put the answer"
        raise OutputError(message)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _leave_stdout()
    except OSError as fault:
        _leave_stdout()
        message = f"standard output cannot be written: {(fault.strerror or str(fault)).lower()}"
        raise OutputError(message) from fault


def say(text: str) -> None:
    """Talk to the person, beside the answer.

    Parameters
    ----------
    text : str
        One message, no line end. [-]
    """
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(f"feedchar: {text}\n")
        sys.stderr.flush()
    except OSError:
        pass  # nobody listens, and there is no other place to say so


def _leave_stdout() -> None:
    """Point stdout at nothing, so that the interpreter's own last flush is silent too."""
    try:
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
        os.close(nothing)
    except (OSError, ValueError):
        pass  # a stream without a descriptor, as in tests
