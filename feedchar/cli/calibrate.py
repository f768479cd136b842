"""The command `calibrate`: what tests taught of a machine, and the file that keeps it."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from feedchar.cli.exit_codes import DONE
from feedchar.cli.machine import machine_files
from feedchar.cli.options import MACHINES, add_run_options
from feedchar.cli.progress import waiting
from feedchar.cli.streams import say, send
from feedchar.errors import InputError, OutputError

if TYPE_CHECKING:
    from feedchar.field.setting import Setting
    from feedchar.sample.records import Sample
    from feedchar.testwork.past_tests import PastTest


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add them. [-]
    """
    parser = commands.add_parser(
        "calibrate",
        help="what tests taught of a machine, kept in a file",
        description="Fits what is missed, sand carried, pull and adhesion of one machine to the "
        "tests of one or several samples. A test counts once.",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="example:\n  feedchar calibrate examples/test_result --out roll.toml",
    )
    parser.add_argument(
        "samples", metavar="SAMPLE", nargs="+", help="samples with tests.csv, all of one machine"
    )
    group = parser.add_argument_group("the machine")
    group.add_argument("--machine", choices=MACHINES, help="where tests.csv does not say")
    group.add_argument("--roll", metavar="NAME_OR_FILE", help="the roll of the tests")
    group.add_argument(
        "--calibration", metavar="FILE", help="go on from this one; its tests are not counted again"
    )
    group.add_argument("--out", metavar="FILE", help="the calibration file to write")
    group.add_argument(
        "--library", metavar="FOLDER", help="add these tests to the past tests of this folder"
    )
    add_run_options(parser)
    parser.set_defaults(run=run_calibrate)


def run_calibrate(arguments: argparse.Namespace) -> int:
    """Run `calibrate`.

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
        When there is nowhere to put the answer.
    FeedcharError
        When tests, machine, calibration or output cannot be used.
    """
    from feedchar.assembly.calibrate import calibrate
    from feedchar.field.rolls import DEFAULT_ROLL, read_roll
    from feedchar.field.setting import Setting
    from feedchar.report.calibration_blocks import calibration_findings
    from feedchar.report.calibration_document import calibration_json
    from feedchar.report.write import check_target, write_file
    from feedchar.sample.shown import file_label
    from feedchar.testwork.calibration_file import read_calibration

    if sys.stdout is None and arguments.json in (None, "-"):
        message = "standard output is closed: there is nowhere to put the answer"
        raise OutputError(message)
    samples = [_read_one(path, len(arguments.samples) > 1) for path in arguments.samples]
    read = [path for sample in samples for path in sample.read_paths]
    read += machine_files(arguments)
    known = {"force": arguments.force, "read_paths": read}
    targets = [path for path in (arguments.out, arguments.json) if path not in (None, "-")]
    if arguments.out == "-":
        message = "--out needs the name of a file; --json - writes the document to standard output"
        raise OutputError(message)
    places = [check_target(path, **known) for path in targets]
    held = None if arguments.library is None else _held(arguments.library)
    folders = [] if arguments.library is None else [Path(arguments.library).resolve()]
    if len({*places, *folders}) < len(places) + len(folders):
        message = "--out, --json and --library: two have the same name, give another"
        raise OutputError(message)
    before = None if arguments.calibration is None else read_calibration(arguments.calibration)
    base = Setting(
        read_roll(arguments.roll or DEFAULT_ROLL), machine=arguments.machine or MACHINES[0]
    )
    with waiting("computing"):
        made = calibrate(
            samples,
            base,
            before,
            trials=arguments.trials,
            seed=arguments.seed,
            before_name=file_label(Path(arguments.calibration or "the calibration")),
        )
    document = calibration_json(made.result)
    past = [] if held is None else _past_tests(samples, base, arguments.seed)
    if arguments.out is not None:
        write_file(arguments.out, made.text, **known)
    if arguments.json == "-":
        send(document)
    else:
        if arguments.json is not None:
            write_file(arguments.json, document, **known)
        if sys.stdout is not None:
            from feedchar.report.terminal import render, screen_of

            send(render(calibration_findings(made.result), screen_of(sys.stdout)))
    for path in targets:
        say(f"wrote {path}")
    if held is not None:
        _add_to_library(arguments.library, past, held)
    return DONE


def _read_one(path: str, of_several: bool) -> Sample:
    """A sample; where there are several, a message says of which it speaks."""
    from feedchar.sample.read import read_sample
    from feedchar.sample.shown import file_label

    try:
        return read_sample(path)
    except InputError as problem:
        if not of_several or not problem.file:
            raise
        label = file_label(Path(path))
        if problem.file.startswith(label):
            raise
        raise InputError(str(problem), file=label) from problem


def _held(folder: str) -> set[str]:
    """Checksums of the past tests of a folder, which need not exist yet."""
    from feedchar.sample.shown import shown
    from feedchar.testwork.past_tests import read_library

    place = Path(folder)
    try:
        there = bool(folder) and place.exists()
        held = there and any(path.suffix == ".toml" for path in place.iterdir())
        usable = there or (bool(folder) and place.absolute().parent.is_dir())
    except (OSError, ValueError):
        usable = False
    if not usable:
        message = f"{shown(folder)} cannot be made or read as a folder of past tests"
        raise OutputError(message)
    return {test.sha256 for test in read_library(str(place))} if held else set()


def _past_tests(samples: list[Sample], base: Setting, seed: int) -> list[PastTest]:
    from feedchar.assembly.past import past_tests_of

    return [test for sample in samples for test in past_tests_of(sample, base, seed)]


def _add_to_library(folder: str, tests: list[PastTest], held: set[str]) -> None:
    """Write the tests that the folder does not hold yet, one file each."""
    from feedchar.report.write import write_file
    from feedchar.sample.shown import shown
    from feedchar.testwork.past_tests import past_test_text

    fresh = [test for test in tests if test.sha256 not in held]
    if fresh:
        try:
            Path(folder).mkdir(exist_ok=True)
        except OSError as fault:
            message = f"{shown(folder)} cannot be made: {(fault.strerror or str(fault)).lower()}"
            raise OutputError(message) from fault
    for test in fresh:
        write_file(str(Path(folder) / f"{test.sha256[:16]}.toml"), past_test_text(test))
    already = f", {len(tests) - len(fresh)} held already" if len(fresh) < len(tests) else ""
    none = "" if tests else "; kept is a roll fed with the bag as received, or a charge of it"
    say(f"{folder}: {len(fresh)} past tests added{already}{none}")
