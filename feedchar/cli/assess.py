"""The commands that characterise a sample: assess, check, what-stays."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from feedchar.cli.exit_codes import DONE, NOT_REACHED
from feedchar.cli.machine import calibration_of, machine_files, setting_of
from feedchar.cli.options import (
    SAMPLE,
    add_calibration_option,
    add_run_options,
    add_sending_options,
    add_separation_options,
)
from feedchar.cli.progress import waiting
from feedchar.cli.sending import check_places, send_on
from feedchar.cli.streams import say, send
from feedchar.errors import OutputError, SettingError

if TYPE_CHECKING:
    from feedchar.report.blocks import Findings
    from feedchar.report.report import Report
    from feedchar.results import Characterisation
    from feedchar.sample.records import Sample


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add them. [-]
    """
    parser = _command(
        commands,
        "assess",
        "from feed to answer: the main job",
        "Whether a magnet brings this sand to its limit, where its iron is, and what stays.",
        "feedchar assess examples/glass_sand --limit Fe2O3=0.05 --belt-speed 1.2",
    )
    add_separation_options(parser)
    parser.add_argument(
        "--library", metavar="FOLDER", help="past tests, which correct where that helps"
    )
    add_run_options(parser)
    add_sending_options(parser)
    parser.set_defaults(run=run_assess)

    parser = _command(
        commands,
        "check",
        "only the feed: do the data agree, which figure is suspect",
        "Reads and reconciles minerals and assay, and tells what would settle a doubt.",
        "feedchar check examples/glass_sand",
    )
    add_calibration_option(parser)
    add_run_options(parser)
    add_sending_options(parser)
    parser.set_defaults(run=run_check)

    parser = _command(
        commands,
        "what-stays",
        "the iron that stays, and what would remove it",
        "The product's iron line by line, with its carriers, the evidence and a remedy.",
        "feedchar what-stays examples/glass_sand --passes 2",
    )
    add_separation_options(parser)
    add_run_options(parser)
    add_sending_options(parser)
    parser.set_defaults(run=run_what_stays)


def run_assess(arguments: argparse.Namespace) -> int:
    """Run `assess`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0, or 1 when the chance asked for is not reached. [-]

    Raises
    ------
    FeedcharError
        When input, setting or output cannot be used.
    """
    from feedchar.report.findings import assess_findings

    result = _separated(arguments, "assess")
    asked: dict[str, Any] = {
        "units": arguments.units,
        "at_grade": arguments.at_grade,
        "at_yield": arguments.at_yield,
    }

    def report() -> Report:
        from feedchar.report.assess_report import assess_report

        return assess_report(result, **asked)

    return _deliver(arguments, result, assess_findings(result, **asked), report)


def run_what_stays(arguments: argparse.Namespace) -> int:
    """Run `what-stays`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0, or 1 when the chance asked for is not reached. [-]

    Raises
    ------
    FeedcharError
        When input, setting or output cannot be used.
    """
    from feedchar.report.findings import stays_findings

    result = _separated(arguments, "what-stays")
    asked = {"at_grade": arguments.at_grade, "at_yield": arguments.at_yield}

    def report() -> Report:
        from feedchar.report.assess_report import stays_report

        return stays_report(result, **asked)

    return _deliver(arguments, result, stays_findings(result, **asked), report)


def run_check(arguments: argparse.Namespace) -> int:
    """Run `check`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0, also when the data disagree. [-]

    Raises
    ------
    FeedcharError
        When input or output cannot be used.
    """
    from feedchar.characterise import characterise
    from feedchar.report.findings import check_findings

    sample = _sample(arguments)
    calibration = calibration_of(arguments)
    with waiting("fitting"):
        result = characterise(
            sample,
            calibration=calibration,
            trials=arguments.trials,
            seed=arguments.seed,
            command="check",
        )

    def report() -> Report:
        from feedchar.report.assess_report import check_report

        return check_report(result)

    return _deliver(arguments, result, check_findings(result), report)


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    word: str,
    short: str,
    long: str,
    example: str,
) -> argparse.ArgumentParser:
    parser = commands.add_parser(
        word,
        help=short,
        description=long,
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=f"example:\n  {example}",
    )
    parser.add_argument("sample", metavar="SAMPLE", help=SAMPLE)
    return parser


def _sample(arguments: argparse.Namespace) -> Sample:
    """Read the sample, and refuse a place to write before anything long is done."""
    from feedchar.sample.read import read_sample

    if sys.stdout is None and arguments.json in (None, "-"):
        message = "standard output is closed: there is nowhere to put the answer"
        raise OutputError(message)
    sample = read_sample(arguments.sample)
    arguments.read_paths = (*sample.read_paths, *machine_files(arguments))
    check_places(arguments)
    return sample


def _separated(arguments: argparse.Namespace, command: str) -> Characterisation:
    from feedchar.characterise import characterise
    from feedchar.sample.read import parse_limit

    sample = _sample(arguments)
    limit = None if arguments.limit is None else parse_limit(arguments.limit)
    if arguments.require is not None:
        asked = limit or sample.limit
        if asked is None or asked.is_empty():
            message = "--require needs a limit: give --limit, or [limit] in sample.toml"
            raise SettingError(message)
        if arguments.trials == 0:
            message = "--require needs trials: --trials 0 gives no chance"
            raise SettingError(message)
    setting = setting_of(arguments, sample)
    calibration = calibration_of(arguments)
    library = None
    if getattr(arguments, "library", None) is not None:
        from feedchar.testwork.past_tests import read_library

        library = read_library(arguments.library)
    with waiting("computing"):
        return characterise(
            sample,
            setting,
            limit,
            calibration=calibration,
            trials=arguments.trials,
            seed=arguments.seed,
            command=command,
            other_settings=command == "assess" and arguments.html is not None,
            library=library,
        )


def _deliver(
    arguments: argparse.Namespace,
    result: Characterisation,
    findings: Findings,
    report: Callable[[], Report],
) -> int:
    """Document and report to where they were asked, and the code of the demand."""

    def document() -> str:
        from feedchar.report.document import to_json

        return to_json(result)

    written = send_on(arguments, document, report)
    if arguments.json == "-":
        send(document())
    elif sys.stdout is not None:
        from feedchar.report.terminal import render, screen_of

        send(render(findings, screen_of(sys.stdout)))
    for place in written:
        say(f"wrote {place}")
    return _demand(getattr(arguments, "require", None), result)


def _demand(required: float | None, result: Characterisation) -> int:
    if required is None:
        return DONE
    chance = result.answer.chance_of_meeting_limit
    if chance is None:
        say(f"no chance could be given ({result.answer.status}), so --require is not reached")
        return NOT_REACHED
    if chance < required:
        say(f"the chance is {chance:.3f}, below the {required:g} required")
        return NOT_REACHED
    return DONE
