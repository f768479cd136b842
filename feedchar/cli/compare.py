"""The command `compare`: a test against its own balance and against the prediction."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from feedchar.cli.exit_codes import DONE
from feedchar.cli.machine import calibration_of, machine_files
from feedchar.cli.options import (
    MACHINES,
    add_calibration_option,
    add_run_options,
    add_sending_options,
)
from feedchar.cli.progress import waiting
from feedchar.cli.sending import check_places, send_on
from feedchar.cli.streams import say, send
from feedchar.errors import OutputError

if TYPE_CHECKING:
    from feedchar.field.setting import Setting
    from feedchar.report.report import Report

COMPARE_TRIALS = 1000
"""Enough to say in which directions the figures of a test may be apart. [-]"""
_SAMPLE = "a folder or sample.toml with tests.csv and assays.csv among its tables, or a workbook"


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add it. [-]
    """
    parser = commands.add_parser(
        "compare",
        help="a test: does it balance, does it agree with the prediction, why not",
        description="Balances of the weighed and assayed bags of tests.csv, the mistake that would "
        "explain one that does not close, recoveries, and every bag beside its prediction at the "
        "test's own settings, with the likely cause of a difference.",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="example:\n  feedchar compare examples/glass_sand_test",
    )
    parser.add_argument("sample", metavar="SAMPLE", help=_SAMPLE)
    group = parser.add_argument_group("the machine (its settings stand in tests.csv)")
    group.add_argument(
        "--machine", choices=MACHINES, help="where tests.csv does not say (default permanent-roll)"
    )
    group.add_argument("--roll", metavar="NAME_OR_FILE", help="a generic roll, or a file of one")
    add_calibration_option(group)
    add_run_options(parser, COMPARE_TRIALS)
    add_sending_options(parser)
    parser.set_defaults(run=run_compare)


def run_compare(arguments: argparse.Namespace) -> int:
    """Run `compare`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0, also when the test disagrees. [-]

    Raises
    ------
    OutputError
        When there is nowhere to put the answer.
    FeedcharError
        When input, setting or output cannot be used.
    """
    from feedchar.assembly.compare import compare
    from feedchar.report.compare_report import compare_json, compare_report
    from feedchar.sample.read import read_sample

    if sys.stdout is None and arguments.json in (None, "-"):
        message = "standard output is closed: there is nowhere to put the answer"
        raise OutputError(message)
    sample = read_sample(arguments.sample)
    arguments.read_paths = (*sample.read_paths, *machine_files(arguments))
    check_places(arguments)
    calibration = calibration_of(arguments)
    with waiting("comparing"):
        result = compare(
            sample, _machine(arguments), calibration, trials=arguments.trials, seed=arguments.seed
        )

    def document() -> str:
        return compare_json(result)

    def report() -> Report:
        return compare_report(result)

    written = send_on(arguments, document, report)
    if arguments.json == "-":
        send(document())
    elif sys.stdout is not None:
        from feedchar.report.compare_blocks import compare_findings
        from feedchar.report.terminal import render, screen_of

        send(render(compare_findings(result), screen_of(sys.stdout)))
    for place in written:
        say(f"wrote {place}")
    return DONE


def _machine(arguments: argparse.Namespace) -> Setting:
    from feedchar.field.rolls import DEFAULT_ROLL, read_roll
    from feedchar.field.setting import Setting

    return Setting(
        roll=read_roll(arguments.roll or DEFAULT_ROLL),
        passes=(),
        machine=arguments.machine or MACHINES[0],
    )
