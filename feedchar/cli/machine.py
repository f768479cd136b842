"""From the options of the command line to a machine setting."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from feedchar.errors import SettingError
from feedchar.field.setting import MACHINES

if TYPE_CHECKING:
    from feedchar.field.setting import Pass, Setting
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
        When options speak of different numbers of passes, when the middlings edge does not lie
        beyond the magnetics edge, or when middlings are to be retreated that no edge cuts.
    FeedcharError
        When the roll is unknown or its file cannot be used.
    """
    chosen = ("belt_speed", "splitter_mm", "splitter_2_mm", "passes", "retreat")
    options = (*chosen, "machine", "roll", "drum_first", "treat")
    if all(getattr(arguments, option) is None for option in options):
        return None
    searched = all(getattr(arguments, option) is None for option in chosen)
    from feedchar.field.rolls import DEFAULT_ROLL, read_roll
    from feedchar.field.setting import Setting

    passes = () if searched else _passes(arguments)
    low, high = arguments.treat or (None, None)
    return Setting(
        roll=read_roll(arguments.roll or DEFAULT_ROLL),
        # Nothing said of speed, edges or passes: these are left to the search.
        passes=passes,
        retreat=arguments.retreat or "non-magnetics",
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


def machine_files(arguments: argparse.Namespace) -> tuple[str, ...]:
    """Files that the options of the machine name, which nothing may be written over.

    Parameters
    ----------
    arguments : argparse.Namespace
        Options with `calibration`, and `roll` where the command has it. [-]

    Returns
    -------
    tuple of str
        As given; a generic roll is named and no file. [-]
    """
    return tuple(path for path in (getattr(arguments, "roll", None), arguments.calibration) if path)


def _passes(arguments: argparse.Namespace) -> tuple[Pass, ...]:
    """One entry a pass; an option that names one value gives it to all passes."""
    from feedchar.field.setting import Pass
    from feedchar.units import M_PER_MM

    default = Pass()
    given = {
        f"--{name.replace('_', '-')}": getattr(arguments, name)
        for name in ("belt_speed", "splitter_mm", "splitter_2_mm")
    }
    count = arguments.passes or max(len(values or (0,)) for values in given.values())
    for option, values in given.items():
        if values is not None and len(values) not in (1, count):
            message = (
                f"{option} names {len(values)} passes where there are {count}: "
                f"give one value for all, or {count} with a slash between them"
            )
            raise SettingError(message)

    def of(option: str, number: int) -> float | None:
        values = given[option]
        return None if values is None else float(values[number if len(values) > 1 else 0])

    made = []
    for number in range(count):
        first, second = of("--splitter-mm", number), of("--splitter-2-mm", number)
        edge = default.splitter_m if first is None else first * M_PER_MM
        where = f" of pass {number + 1}" if count > 1 else ""
        if second is not None and second * M_PER_MM <= edge:
            message = (
                f"--splitter-2-mm is {second:g}{where}: it must lie beyond the edge of "
                f"the magnetics at {edge / M_PER_MM:g} mm"
            )
            raise SettingError(message)
        speed = of("--belt-speed", number) or default.belt_speed_m_s
        made.append(Pass(speed, edge, None if second is None else second * M_PER_MM))
    if arguments.retreat == "middlings" and (count == 1 or given["--splitter-2-mm"] is None):
        message = (
            "--retreat middlings needs a second pass and an edge that cuts middlings: "
            "give --passes 2 and --splitter-2-mm"
        )
        raise SettingError(message)
    return tuple(made)
