"""From the options of the command line to a machine setting."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from feedchar.cli.options import MACHINES
from feedchar.errors import SettingError

if TYPE_CHECKING:
    from feedchar.field.setting import Setting
    from feedchar.sample.records import Sample
    from feedchar.separation.parameters import Calibration


def setting_of(arguments: argparse.Namespace, sample: Sample) -> Setting | None:
    """The setting that the options describe; None when they leave it open.

    Parameters
    ----------
    arguments : argparse.Namespace
        Options of `add_separation_options`. [-]
    sample : Sample
        For the temperatures of feed and roll. [-]

    Returns
    -------
    Setting or None
        None when no option of the machine was given; without passes when none of speed, edges
        and number of passes was. [-]

    Raises
    ------
    SettingError
        When the middlings edge does not lie beyond the magnetics edge.
    FeedcharError
        When the roll is unknown or its file cannot be used.
    """
    chosen = ("belt_speed", "splitter_mm", "splitter_2_mm", "passes")
    options = (*chosen, "machine", "roll", "drum_first", "treat")
    if all(getattr(arguments, option) is None for option in options):
        return None
    searched = all(getattr(arguments, option) is None for option in chosen)
    from feedchar.field.rolls import DEFAULT_ROLL, read_roll
    from feedchar.field.setting import Pass, Setting
    from feedchar.units import M_PER_MM

    default = Pass()
    first = default.splitter_m
    if arguments.splitter_mm is not None:
        first = arguments.splitter_mm * M_PER_MM
    second = None
    if arguments.splitter_2_mm is not None:
        second = arguments.splitter_2_mm * M_PER_MM
        if second <= first:
            message = (
                f"--splitter-2-mm is {arguments.splitter_2_mm:g}: it must lie beyond the edge of "
                f"the magnetics at {first / M_PER_MM:g} mm"
            )
            raise SettingError(message)
    speed = arguments.belt_speed or default.belt_speed_m_s
    low, high = arguments.treat or (None, None)
    return Setting(
        roll=read_roll(arguments.roll or DEFAULT_ROLL),
        # Nothing said of speed, edges or passes: these are left to the search.
        passes=() if searched else (Pass(speed, first, second),) * (arguments.passes or 1),
        drum_first=arguments.drum_first,
        machine=arguments.machine or MACHINES[0],
        treated_passing_um=high,
        treated_retained_um=low,
        roll_temperature_c=sample.roll_temperature_c,
        feed_temperature_c=sample.feed_temperature_c,
    )


def calibration_of(arguments: argparse.Namespace) -> Calibration | None:
    """What tests taught of the machine, where a file of it is named.

    Parameters
    ----------
    arguments : argparse.Namespace
        Options with `calibration`. [-]

    Returns
    -------
    Calibration or None
        None without a file. [SI]

    Raises
    ------
    FeedcharError
        When the file cannot be used.
    """
    if arguments.calibration is None:
        return None
    from feedchar.testwork.calibration_file import read_calibration

    return read_calibration(arguments.calibration).calibration
