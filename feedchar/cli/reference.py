"""The command that shows the reference tables: mineral."""

from __future__ import annotations

import argparse
import sys

from feedchar.cli.exit_codes import DONE
from feedchar.cli.options import add_debug_option, add_units_option
from feedchar.cli.streams import send


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add them. [-]
    """
    parser = commands.add_parser(
        "mineral",
        help="the reference tables, with source and status of every value",
        description="All that the tables hold on one mineral; without a name, the list of all.",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="example:\n  feedchar mineral biotite",
    )
    parser.add_argument(
        "name", nargs="*", metavar="NAME", help="name or alias, in any of five languages"
    )
    add_units_option(parser)
    add_debug_option(parser)
    parser.set_defaults(run=run_mineral)


def run_mineral(arguments: argparse.Namespace) -> int:
    """Run `mineral`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0. [-]

    Raises
    ------
    UnknownNameError
        For an unknown name or a group word, with the candidates.
    OutputError
        When stdout cannot be written.
    """
    from feedchar.cli.mineral_blocks import all_minerals, one_mineral
    from feedchar.report.terminal import Screen, render, screen_of

    word = " ".join(arguments.name)
    findings = (
        one_mineral(word, arguments.units) if arguments.name else all_minerals(arguments.units)
    )
    screen = Screen() if sys.stdout is None else screen_of(sys.stdout)
    send(render(findings, screen))
    return DONE
