"""A setting in one sentence."""

from __future__ import annotations

from feedchar.report.readings import (
    MICROMETRE,
    size_class,
)
from feedchar.report.words import NO_BREAK, capital_first, name
from feedchar.results import SettingResult


def setting_words(setting: SettingResult) -> str:
    """The machine in one sentence, in trade units.

    Parameters
    ----------
    setting : SettingResult
        The machine as assessed. [-]

    Returns
    -------
    str
        Roll, passes, speed, edges, window, temperatures. [-]
    """
    drum = f"{setting.drum_first} drum, then " if setting.drum_first else ""
    built = (
        f"radius {millimetres(setting.roll_radius_m)}, pitch {millimetres(setting.pitch_m)}, "
        f"belt {millimetres(setting.belt_thickness_m)}"
    )
    parts = [
        f"{drum}{name(setting.machine.replace('-', ' '))} {name(setting.roll)} ({built})",
        f"{setting.passes} pass" + ("es" if setting.passes != 1 else ""),
    ]
    if len(set(setting.each_pass)) > 1:
        each = [_one_pass(at.belt_speed_m_s, at.splitter_m, at.splitter_2_m)
                for at in setting.each_pass]  # fmt: skip
        parts[-1] += ": " + "; then ".join(each)
    else:
        parts.append(_one_pass(setting.belt_speed_m_s, setting.splitter_m, setting.splitter_2_m))
    if setting.retreat != "non-magnetics":
        parts.append(f"{setting.retreat} go on to the next pass")
    if setting.treated_passing_um is None and setting.treated_retained_um is None:
        parts.append("whole bag treated")
    else:
        window = size_class(setting.treated_passing_um, setting.treated_retained_um)
        parts.append(f"treated {window}{NO_BREAK}{MICROMETRE}")
    parts.append(
        f"feed {setting.feed_temperature_c:g}, roll {setting.roll_temperature_c:g}{NO_BREAK}\u00b0C"
    )
    text = ", ".join(parts)
    return f"{capital_first(text)}."


def slowest_belt(setting: SettingResult) -> str:
    """The speed that what a phase needs is told at: that of the slowest pass.

    Parameters
    ----------
    setting : SettingResult
        The machine as assessed. [-]

    Returns
    -------
    str
        Such as "1.5 m/s". [-]
    """
    speeds = [one.belt_speed_m_s for one in setting.each_pass] or [setting.belt_speed_m_s]
    return f"{min(speeds):g}{NO_BREAK}m/s"


def _one_pass(speed_m_s: float, edge_m: float, edge_2_m: float | None) -> str:
    middlings = "" if edge_2_m is None else f", middlings to {millimetres(edge_2_m)}"
    return f"{speed_m_s:g}{NO_BREAK}m/s, edge {millimetres(edge_m)} beyond the roll{middlings}"


def millimetres(metres: float) -> str:
    """A length on a separator in millimetres, without needless digits.

    Parameters
    ----------
    metres : float
        Length. [m]

    Returns
    -------
    str
        The number alone. [mm]

    References
    ----------
    Definition.
    """
    return f"{1000 * metres:.4g}{NO_BREAK}mm"
