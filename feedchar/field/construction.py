"""A roll from single figures: wholly a person's own, or a known roll with some figures changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from feedchar.errors import SettingError
from feedchar.field.roll_file import ASSUMED, NEEDED, READING
from feedchar.field.roll_of_reading import roll_of_reading
from feedchar.field.rolls import checked_roll
from feedchar.field.setting import Roll
from feedchar.units import M_PER_MM

LENGTHS = ("roll_radius_mm", "bore_radius_mm", "magnet_mm", "steel_mm", "belt_mm")
STRENGTHS = ("remanence_tesla", "steel_saturation_tesla")
FIGURES = (*LENGTHS, *STRENGTHS, *READING)


def roll_of_figures(figures: Mapping[str, float], base: Roll | None = None) -> Roll:
    """A roll from figures as a roll's file names them.

    Parameters
    ----------
    figures : mapping of str to float
        Keys of FIGURES; lengths in millimetres, the rest in teslas. [mm, T]
    base : Roll or None
        Roll that gives what the figures do not; None: they must describe a roll by themselves. [SI]

    Returns
    -------
    Roll
        Checked; its source tells what was given and what was assumed. [SI]

    Raises
    ------
    SettingError
        A figure missing, the strength of the magnets given in two ways or in none, or a roll that
        cannot be.

    References
    ----------
    Derived here; roll_harmonics.csv for the reach of the table.
    """
    read = [key for key in READING if key in figures]
    if base is None:
        _check_lengths(figures)
    _check_strength(figures, read, base)
    if base is None:
        made = _own(figures)
    else:
        told = ", ".join(
            f"{key} {figures[key]:g}" for key in (*LENGTHS, *STRENGTHS) if key in figures
        )
        source = "; ".join(part for part in (base.source, told and f"with {told}") if part)
        made = replace(base, source=source, **_in_si(figures))
        if told:
            made = replace(made, roll=f"{base.roll}, changed")
    if len(read) == len(READING):
        made = roll_of_reading(
            made,
            figures["reading_tesla"],
            figures["probe_mm"] * M_PER_MM,
            figures["probe_height_mm"] * M_PER_MM,
        )
    return checked_roll(made)


def _check_lengths(figures: Mapping[str, float]) -> None:
    missing = [key for key in NEEDED if key not in figures]
    if missing:
        message = (
            f"A roll of your own needs {', '.join(NEEDED)}; missing: {', '.join(missing)}. "
            "Or name a roll to change, such as fine-100."
        )
        raise SettingError(message)


def _own(figures: Mapping[str, float]) -> Roll:
    assumed = {"bore_radius_mm": 0.2 * figures["roll_radius_mm"], **ASSUMED}
    told = [f"{key} {value:g} assumed" for key, value in assumed.items() if key not in figures]
    value = _in_si({**assumed, **figures})
    return Roll(
        roll="own roll",
        roll_radius_m=value["roll_radius_m"],
        bore_radius_m=value["bore_radius_m"],
        magnet_m=value["magnet_m"],
        steel_m=value["steel_m"],
        remanence_tesla=value.get("remanence_tesla", 0.0),
        steel_saturation_tesla=value["steel_saturation_tesla"],
        belt_thickness_m=value["belt_thickness_m"],
        source="; ".join(["figures as given", *told]),
    )


def _in_si(figures: Mapping[str, float]) -> dict[str, Any]:
    """Fields of a Roll that the figures give."""
    fields = {key: key.removesuffix("_mm") + "_m" for key in LENGTHS} | {
        "belt_mm": "belt_thickness_m"
    }
    found = {fields[key]: figures[key] * M_PER_MM for key in LENGTHS if key in figures}
    return found | {key: figures[key] for key in STRENGTHS if key in figures}


def _check_strength(figures: Mapping[str, float], read: list[str], base: Roll | None) -> None:
    has_reading = "reading_tesla" in figures
    if has_reading and "remanence_tesla" in figures:
        message = (
            "The strength of the magnets is given in two ways. "
            "Give remanence_tesla, or a reading with its probe, not both."
        )
        raise SettingError(message)
    if has_reading and len(read) < len(READING):
        lacking = ", ".join(key for key in READING if key not in figures)
        message = (
            f"A gaussmeter reading needs {', '.join(READING)}; missing: {lacking}. An element has "
            "about 1 mm, and its height counts from the bare roll, belt included."
        )
        raise SettingError(message)
    if base is None and not has_reading and "remanence_tesla" not in figures:
        message = (
            "The strength of the magnets is missing. Give remanence_tesla (new magnets have 1.2 "
            f"to 1.4), or all of {', '.join(READING)}."
        )
        raise SettingError(message)
