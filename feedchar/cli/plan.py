"""The command `plan`: what to take, run, weigh and assay."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from feedchar.cli.exit_codes import DONE
from feedchar.cli.machine import calibration_of, machine_files, setting_of
from feedchar.cli.options import (
    SAMPLE,
    add_machine_options,
    add_run_options,
    add_sending_options,
)
from feedchar.cli.progress import waiting
from feedchar.cli.sending import check_places, send_on
from feedchar.cli.streams import say, send
from feedchar.cli.values import percent, positive
from feedchar.errors import OutputError, SettingError

if TYPE_CHECKING:
    from feedchar.report.report import Report

PLAN_TRIALS = 400
"""A share of the variance is then known to about 0.03. [-]"""
BENCH_BELT_MM = 100.0


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add them. [-]
    """
    parser = commands.add_parser(
        "plan",
        help="the test: how much sand, which runs, which bags, what to assay",
        description="Cautions, masses, the programme that removes most doubt for its sand and "
        "hours, bags with labels, the laboratory order, and tables to fill in.",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="example:\n  feedchar plan examples/glass_sand --write glass_sand_test",
    )
    parser.add_argument("sample", metavar="SAMPLE", help=SAMPLE)
    group = parser.add_argument_group("the test")
    group.add_argument(
        "--write",
        metavar="FOLDER",
        help="a new folder: the sample with tests.csv, assays.csv and the mill blanks of "
        "diagnostics.csv to fill in",
    )
    group.add_argument(
        "--relative-sd",
        type=percent,
        metavar="PCT",
        help="what sampling may add to product iron (default: a third of the predicted spread, "
        "a tenth of the limit at most, 2 to 5)",
    )
    group.add_argument(
        "--feed-t-h", type=positive, metavar="T_H", help="dry feed of the plant to imitate"
    )
    group.add_argument(
        "--plant-belt-m", type=positive, metavar="M", help="belt that carries it, side by side"
    )
    group.add_argument(
        "--bench-belt-mm",
        type=positive,
        default=BENCH_BELT_MM,
        metavar="MM",
        help=f"layer on the bench roll (default {BENCH_BELT_MM:g})",
    )
    group.add_argument(
        "--limit", metavar="USE_OR_LIST", help="a use, or a list such as Fe2O3=0.05,TiO2=0.03"
    )
    add_machine_options(parser, "the machine (default: found by a small search, or stated)")
    add_run_options(parser, PLAN_TRIALS)
    add_sending_options(parser)
    parser.set_defaults(run=run_plan)


def run_plan(arguments: argparse.Namespace) -> int:
    """Run `plan`.

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
    OutputError
        When there is nowhere to put the answer, or two outputs have one place.
    SettingError
        When options do not go together.
    FeedcharError
        When input, setting or output cannot be used.
    """
    from feedchar.assembly.plan import plan
    from feedchar.report.folder import check_folder, write_folder
    from feedchar.report.plan_document import plan_json
    from feedchar.sample.copied import folder_texts
    from feedchar.sample.read import parse_limit, read_sample
    from feedchar.units import M_PER_MM

    if sys.stdout is None and arguments.json in (None, "-"):
        message = "standard output is closed: there is nowhere to put the answer"
        raise OutputError(message)
    if arguments.relative_sd is not None and not 0.1 <= arguments.relative_sd <= 30.0:
        message = "--relative-sd must be 0.1 to 30 %: above that grains are counted, not assayed"
        raise SettingError(message)
    sample = read_sample(arguments.sample)
    arguments.read_paths = (*sample.read_paths, *machine_files(arguments))
    check_places(arguments)
    known = {"force": arguments.force, "read_paths": arguments.read_paths}
    if arguments.write is not None:
        folder = check_folder(arguments.write, **known)
        if arguments.csv is not None and check_folder(arguments.csv, **known) == folder:
            message = "two outputs would have the same name. Give each its own"
            raise OutputError(message)
    setting = setting_of(arguments, sample)
    limit = None if arguments.limit is None else parse_limit(arguments.limit)
    calibration = calibration_of(arguments)
    sd = None if arguments.relative_sd is None else arguments.relative_sd / 100.0
    with waiting("planning"):
        result = plan(
            sample,
            setting,
            limit,
            calibration,
            trials=arguments.trials,
            seed=arguments.seed,
            feed_t_h=arguments.feed_t_h,
            plant_belt_m=arguments.plant_belt_m,
            bench_belt_m=arguments.bench_belt_mm * M_PER_MM,
            relative_sd=sd,
        )

    def report() -> Report:
        from feedchar.report.plan_report import plan_report

        return plan_report(result)

    written = []
    if arguments.write is not None:
        from feedchar.report.plan_report import (
            ASSAY_COLUMNS,
            DIAGNOSTIC_COLUMNS,
            TEST_COLUMNS,
            rows_of_assays,
            rows_of_diagnostics,
            rows_of_tests,
        )

        added = {
            "tests": (TEST_COLUMNS, rows_of_tests(result)),
            "assays": (ASSAY_COLUMNS, rows_of_assays(result)),
            "diagnostics": (DIAGNOSTIC_COLUMNS, rows_of_diagnostics(result)),
        }
        write_folder(arguments.write, folder_texts(arguments.sample, added), **known)
        written.append(arguments.write)
    written += send_on(arguments, lambda: plan_json(result), report)
    if arguments.json == "-":
        send(plan_json(result))
    elif sys.stdout is not None:
        from feedchar.report.plan_blocks import plan_findings
        from feedchar.report.terminal import render, screen_of

        send(render(plan_findings(result), screen_of(sys.stdout)))
    for place in written:
        say(f"wrote {place}")
    return DONE
