"""The calculator beside the roll: pull."""

from __future__ import annotations

import argparse
import sys
from functools import cache
from typing import TYPE_CHECKING, Any

from feedchar.cli.exit_codes import DONE
from feedchar.cli.machine import calibration_of, machine_files
from feedchar.cli.options import (
    MACHINES,
    add_calibration_option,
    add_debug_option,
    add_sending_options,
    add_units_option,
)
from feedchar.cli.progress import waiting
from feedchar.cli.pull_options import FIGURES, add_grain_options, add_machine_options
from feedchar.cli.sending import check_places, send_on
from feedchar.cli.streams import say, send
from feedchar.errors import OutputError, SettingError

if TYPE_CHECKING:
    from feedchar.assembly.pull import Question
    from feedchar.field.setting import InducedRoll, Setting
    from feedchar.report.report import Report
    from feedchar.results.pull_picture import PullPicture


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add them. [-]
    """
    parser = commands.add_parser(
        "pull",
        help="a calculator: field and force of a roll, and what it does with single grains",
        description="Field and force of a roll against height; for phases and sizes the flux "
        "density and force needed, the angle of release, the fastest belt, where grains land, "
        "and which machine they need.",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="example:\n  feedchar pull --mineral biotite --mineral muscovite --belt-speed 1,2",
    )
    add_calibration_option(add_machine_options(parser))
    add_grain_options(parser)
    group = parser.add_argument_group("writing")
    group.add_argument(
        "--json", metavar="FILE", help="write the document; - is stdout, then no report"
    )
    group.add_argument(
        "--png", metavar="FILE", help="write a picture: field lines, paths of grains"
    )
    add_sending_options(parser)
    group.add_argument("--force", action="store_true", help="replace files that exist")
    add_units_option(group)
    add_debug_option(group)
    parser.set_defaults(run=run_pull)


def run_pull(arguments: argparse.Namespace) -> int:
    """Run `pull`.

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
    FeedcharError
        When the machine, a phase or the output cannot be used.
    """
    arguments.read_paths = machine_files(arguments)
    if arguments.png == "-":
        message = "--png needs the name of a file: a picture does not go to standard output"
        raise OutputError(message)
    if sys.stdout is None and arguments.json in (None, "-"):
        message = "standard output is closed: there is nowhere to put the answer"
        raise OutputError(message)
    check_places(arguments)

    from feedchar.assembly.pull import pull
    from feedchar.report.pull_document import pull_json

    setting = _setting(arguments)
    question = _question(arguments, setting)
    calibration = calibration_of(arguments)
    with waiting("computing"):
        result = pull(setting, question, calibration)

    @cache
    def picture() -> PullPicture:
        from feedchar.assembly.pull_picture import pull_picture

        return pull_picture(setting, question, result)

    def report() -> Report:
        from feedchar.report.pull_report import pull_report

        return pull_report(result, picture(), units=arguments.units)

    def png() -> bytes:
        from feedchar.report.pull_figure import pull_png

        return pull_png(result, picture())

    written = send_on(arguments, lambda: pull_json(result), report, png)
    if arguments.json == "-":
        send(pull_json(result))
    elif sys.stdout is not None:
        from feedchar.report.pull_blocks import pull_findings
        from feedchar.report.terminal import render, screen_of

        send(render(pull_findings(result, units=arguments.units), screen_of(sys.stdout)))
    for place in written:
        say(f"wrote {place}")
    return DONE


def _setting(arguments: argparse.Namespace) -> Setting:
    from feedchar.field.construction import roll_of_figures
    from feedchar.field.rolls import DEFAULT_ROLL, NEEDED, read_roll
    from feedchar.field.setting import Setting

    machine = arguments.machine or MACHINES[0]
    electric = _induced(arguments, machine)
    figures = {
        key: getattr(arguments, key) for key, _, _ in FIGURES if getattr(arguments, key) is not None
    }
    wanted = {key: value for key, value in figures.items() if not key.startswith("probe_")}
    if electric is not None and (figures or arguments.roll):
        word = "--roll" if arguments.roll else f"--{next(iter(figures)).replace('_', '-')}"
        message = f"{word} belongs to a permanent roll; --machine induced-roll has no use for it"
        raise SettingError(message)
    named = None
    if arguments.roll or not any(key in wanted for key in NEEDED):
        named = read_roll(arguments.roll or DEFAULT_ROLL)
    return Setting(
        roll=roll_of_figures(figures, named) if wanted or named is None else named,
        roll_temperature_c=arguments.roll_temperature,
        feed_temperature_c=arguments.feed_temperature,
        machine=machine,
        induced=electric,
    )


def _induced(arguments: argparse.Namespace, machine: str) -> InducedRoll | None:
    given = {
        "current_a": arguments.current,
        "gap_m": arguments.gap_mm and arguments.gap_mm * 1e-3,
        "tooth_pitch_m": arguments.tooth_pitch_mm and arguments.tooth_pitch_mm * 1e-3,
    }
    given = {key: value for key, value in given.items() if value is not None}
    if machine == MACHINES[0]:
        if given:
            message = "--current, --gap-mm and --tooth-pitch-mm need --machine induced-roll"
            raise SettingError(message)
        return None
    from feedchar.field.setting import InducedRoll

    return InducedRoll(**given)


def _question(arguments: argparse.Namespace, setting: Setting) -> Question:
    from feedchar.assembly.pull import AskedPhase, Question

    asked: dict[str, Any] = {
        "phases": tuple(AskedPhase(**phase) for phase in arguments.phases or ()),
        "sizes_um": arguments.size_um,
        "belt_speeds_m_s": _speeds(arguments, setting),
        "heights_m": arguments.height_mm and tuple(1e-3 * height for height in arguments.height_mm),
        "side_slope_deg": arguments.side_slope,
        "coverage": arguments.coverage,
        "probe_m": arguments.probe_mm and arguments.probe_mm * 1e-3,
        "probe_height_m": arguments.probe_height_mm and arguments.probe_height_mm * 1e-3,
        "reading_tesla": arguments.reading_tesla,
    }
    return Question(**{key: value for key, value in asked.items() if value is not None})


def _speeds(arguments: argparse.Namespace, setting: Setting) -> tuple[float, ...] | None:
    """Speeds of the outside of the belt; turns a minute are those of the roll."""
    if arguments.rpm is None:
        return tuple(arguments.belt_speed) if arguments.belt_speed else None
    if arguments.belt_speed is not None:
        message = "--belt-speed and --rpm say the same: give one of them"
        raise SettingError(message)
    from feedchar.field.induced import surface_speed
    from feedchar.field.working import working_field

    field = working_field(setting)
    face = field.roll_radius_m + field.belt_thickness_m
    return tuple(float(surface_speed(turns, face)) for turns in arguments.rpm)
