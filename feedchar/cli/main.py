"""The command `feedchar`: parse, run one command, turn every end into an exit code."""

from __future__ import annotations

import argparse
import errno
import os
import sys
import traceback
from typing import NoReturn

from feedchar import __version__
from feedchar.cli import assess, batch, calibrate, compare, new, plan, plant, pull, reference
from feedchar.cli.exit_codes import DONE, EXIT_CODES, FAULT, INTERRUPTED, UNUSABLE
from feedchar.cli.streams import say, send
from feedchar.cli.wrong_line import LineParser
from feedchar.errors import FeedcharError

NO_ROOM = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG)
"""A disk or quota that is full is not our fault, wherever it shows."""


def build_parser() -> argparse.ArgumentParser:
    """Parser of the whole command line; imports nothing heavy.

    Returns
    -------
    argparse.ArgumentParser
        Each command sets `run`, a function of the parsed arguments to an exit code. [-]
    """
    parser = LineParser(
        prog="feedchar",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        description="What is in a bag of mineral sand, where its iron sits, and what a magnet can "
        "do about it.",
        epilog=f"{EXIT_CODES}\n\nexample:\n  feedchar assess examples/glass_sand",
    )
    parser.add_argument("--version", action="version", version=f"feedchar {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for room in (assess, pull, plan, compare, calibrate, batch, plant, reference, new):
        room.add_commands(commands)
    return parser


def main(argv: list[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    argv : list of str or None
        Arguments without the program's name; None takes those of the process. [-]

    Returns
    -------
    int
        Exit code: 0 done, 1 demand not reached, 2 cannot be used, 70 our fault, 130
        interrupted. [-]
    """
    debug = "--debug" in (sys.argv[1:] if argv is None else argv)
    try:
        arguments = _parsed(argv)
        return arguments if isinstance(arguments, int) else int(arguments.run(arguments))
    except FeedcharError as problem:
        if debug:
            say(traceback.format_exc())
        say(f"error: {_one_line(problem)}")
        return UNUSABLE
    except KeyboardInterrupt:
        say("interrupted; nothing half-written is left")
        return INTERRUPTED
    except OSError as fault:
        if fault.errno not in NO_ROOM:
            return _our_fault(fault, debug)
        say(f"error: {_one_line(fault.strerror or fault)}, here or where temporary files go")
        return UNUSABLE
    except Exception as fault:  # the one place where a fault of ours is caught
        return _our_fault(fault, debug)


def _our_fault(fault: Exception, debug: bool) -> int:
    if debug:
        say(traceback.format_exc())
    kind = f"{type(fault).__name__}: {_one_line(fault)}".rstrip(": ")
    hint = "" if debug else " Repeat with --debug to see where, and report it with the input."
    say(f"a fault of feedchar, not of your input ({kind}).{hint}")
    return FAULT


def main_entry() -> NoReturn:
    """Entry point of the installed command.

    The matrices of one sample are small: threads of the linear algebra cost more than they give,
    and the sums come out in one order with one. What the person set stands.
    """
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    sys.exit(main())


def _parsed(argv: list[str] | None) -> argparse.Namespace | int:
    """Arguments, or the exit code with which argparse would leave."""
    parser = build_parser()
    try:
        return parser.parse_args(argv)
    except SystemExit as leaving:
        if leaving.code == DONE and sys.stdout is not None:
            send("")  # a reader of --help who has left is noticed here, in silence
        return leaving.code if isinstance(leaving.code, int) else UNUSABLE


def _one_line(problem: Exception | str) -> str:
    from feedchar.report.words import visible

    return visible(str(problem))
