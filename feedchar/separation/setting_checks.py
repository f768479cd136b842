"""A setting refused where it cannot be, and what to tell about one that can."""

from __future__ import annotations

from math import sqrt

import numpy as np

from feedchar.constants import GRAVITY_M_S2
from feedchar.errors import SettingError
from feedchar.field.setting import Setting
from feedchar.field.working import working_field
from feedchar.sample.records import Note
from feedchar.separation.parameters import Calibration
from feedchar.separation.stages import MIDDLINGS, NON_MAGNETICS

FASTEST_M_S = 15.0
"""No belt of a roll separator runs faster (common practice, no source)."""
NEAR_THROW_OFF = 1.1
"""Within this of sqrt(g R) the loss of sand depends on small things."""


def check_setting(setting: Setting) -> Setting:
    """The same setting, refused when a figure of it cannot be.

    Parameters
    ----------
    setting : Setting
        Roll and passes. [SI]

    Returns
    -------
    Setting
        The same. [SI]

    Raises
    ------
    SettingError
        No pass, a speed that separates nothing, edges in the wrong order or inside the roll, an
        unknown retreat, or a roll that cannot be.

    References
    ----------
    Geometry of the roll, derived here.
    """
    field = working_field(setting)
    if not setting.passes:
        message = "A setting needs at least one pass"
        raise SettingError(message)
    if setting.retreat not in (NON_MAGNETICS, MIDDLINGS):
        message = (
            f'"{setting.retreat[:40]}" cannot be retreated; choose {NON_MAGNETICS} or {MIDDLINGS}'
        )
        raise SettingError(message)
    for number, one in enumerate(setting.passes, start=1):
        where = f"Pass {number}: " if len(setting.passes) > 1 else ""
        speed = one.belt_speed_m_s
        if not (np.isfinite(speed) and 0.0 < speed <= FASTEST_M_S):
            message = (
                f"{where}belt speed must be above 0 and at most {FASTEST_M_S:g} m/s, "
                f"found {speed:g}. Rolls run at 0.5 to 3 m/s; sand leaves at the top above "
                f"{sqrt(GRAVITY_M_S2 * field.roll_radius_m):.2f} m/s on this one."
            )
            raise SettingError(message)
        least = field.belt_thickness_m
        if not (np.isfinite(one.splitter_m) and least < one.splitter_m <= 1.0):
            message = (
                f"{where}the splitter must stand clear of the belt: more than "
                f"{1e3 * least:g} mm and at most 1000 mm beyond the bare roll, "
                f"found {1e3 * one.splitter_m:g}. Edges stand at 5 to 100 mm."
            )
            raise SettingError(message)
        second = one.splitter_2_m
        if second is not None and not (np.isfinite(second) and one.splitter_m < second <= 1.0):
            message = (
                f"{where}the second splitter bounds the middlings and must stand beyond the first "
                f"({1e3 * one.splitter_m:g} mm), found {1e3 * second:g} mm"
            )
            raise SettingError(message)
        if setting.retreat == MIDDLINGS and second is None and number < len(setting.passes):
            message = (
                f"{where}middlings cannot go to the next pass without a second edge. "
                "Give splitter_2 beyond splitter, or retreat the non-magnetics."
            )
            raise SettingError(message)
    return setting


def setting_notes(setting: Setting) -> tuple[Note, ...]:
    """What a person should know about a setting that can be run.

    Parameters
    ----------
    setting : Setting
        Roll and passes. [SI]

    Returns
    -------
    tuple of Note
        Empty when there is nothing to tell. [-]

    References
    ----------
    Radial balance on a belt, derived here.
    """
    field = working_field(setting)
    limit = sqrt(GRAVITY_M_S2 * (field.roll_radius_m + field.belt_thickness_m))
    notes = []
    for number, one in enumerate(setting.passes, start=1):
        which = f"pass {number} at" if len(setting.passes) > 1 else "belt at"
        if one.belt_speed_m_s < limit:
            text = (
                f"{which} {one.belt_speed_m_s:g} m/s: sand leaves the top of this roll only above "
                f"{limit:.2f} m/s; slower it clings past the top and more of it is lost"
            )
            notes.append(Note("belt-below-throw-off", text, "warning"))
        elif one.belt_speed_m_s < NEAR_THROW_OFF * limit:
            text = (
                f"{which} {one.belt_speed_m_s:g} m/s is close to the {limit:.2f} m/s at which sand "
                "leaves the top: the loss of sand hangs on small things here"
            )
            notes.append(Note("belt-near-throw-off", text))
    return tuple(notes)


def calibration_notes(calibration: Calibration | None, setting: Setting) -> tuple[Note, ...]:
    """What to know of a calibration that is used with a setting.

    Parameters
    ----------
    calibration : Calibration or None
        What tests taught. [-]
    setting : Setting
        The machine asked for. [SI]

    Returns
    -------
    tuple of Note
        Which tests stand behind it, and whether they were run on another roll. [-]

    Raises
    ------
    SettingError
        A calibration of another kind of machine.

    References
    ----------
    Definition.
    """
    if calibration is None or not calibration.machine:
        return ()
    if calibration.machine != setting.machine:
        message = (
            f"The calibration is of the {calibration.machine}, the machine asked for is the "
            f"{setting.machine}: what one misses says nothing of the other"
        )
        raise SettingError(message)
    notes = [Note("calibrated", f"machine by its calibration: {calibration.source}")]
    if setting.machine == "permanent-roll" and calibration.roll != setting.roll.roll:
        text = (
            f"the calibration is of the roll {calibration.roll}, this is {setting.roll.roll}: what "
            "is missed and carried may differ, and the pull certainly does"
        )
        notes.append(Note("calibration-of-another-roll", text, "warning"))
    return tuple(notes)
