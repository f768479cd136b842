"""The magnets behind a gaussmeter's reading: the remanence that explains it."""

from __future__ import annotations

from dataclasses import replace

from scipy.optimize import brentq

from feedchar.errors import SettingError
from feedchar.field.checked import number, positive
from feedchar.field.harmonics import roll_harmonics
from feedchar.field.reading import probe_reading
from feedchar.field.setting import Roll

WEAKEST_TESLA, STRONGEST_TESLA = 0.05, 2.5
"""Remanences among which the one behind a reading is looked for."""


def roll_of_reading(
    roll: Roll, reading_tesla: float, probe_m: float, probe_height_m: float
) -> Roll:
    """The roll whose magnets explain a gaussmeter reading.

    The steel saturates, so the field does not simply scale: the remanence is looked for at which
    the construction gives the reading.

    Parameters
    ----------
    roll : Roll
        Construction; its remanence is not used. [SI]
    reading_tesla : float
        Largest reading found along the roll. [T]
    probe_m : float
        Diameter of the element, 0 for a point. [m]
    probe_height_m : float
        From the bare roll to the middle of the element. [m]

    Returns
    -------
    Roll
        The same roll with that remanence. [SI]

    Raises
    ------
    SettingError
        A reading that no remanence within the table of field solutions explains.

    References
    ----------
    Derived here: the field of the cylinder averaged over a disc, roll_harmonics.csv.
    """
    wanted = float(
        positive("The reading", reading_tesla, "Give teslas, such as 1.1; 10 kG is 1 T.")
    )

    def reading(remanence_tesla: float) -> float:
        harmonics = roll_harmonics(
            roll.magnet_m,
            roll.steel_m,
            roll.roll_radius_m,
            roll.bore_radius_m,
            remanence_tesla,
            roll.steel_saturation_tesla,
        )
        return probe_reading(harmonics, roll.pitch_m, roll.roll_radius_m, probe_m, probe_height_m)

    least, most = remanence_reach(roll.steel_saturation_tesla)
    low, high = reading(least), reading(most)
    if not low <= wanted <= high:
        message = (
            f"A reading of {wanted:.4g} T at {1e3 * probe_height_m:g} mm is outside what this roll "
            f"can give: {low:.3g} to {high:.3g} T with remanences of {least:.3g} to {most:.3g} T. "
            "Check the height from the bare roll to the element, the size of the element, and "
            "whether the reading is in tesla."
        )
        raise SettingError(message)
    remanence = float(brentq(lambda value: reading(value) - wanted, least, most, xtol=1e-6))
    source = f"remanence from a reading of {wanted:g} T; {roll.source}".rstrip("; ")
    return replace(roll, remanence_tesla=remanence, source=source)


def remanence_reach(steel_saturation_tesla: float) -> tuple[float, float]:
    """Least and greatest remanence that the table of field solutions holds for a steel.

    Parameters
    ----------
    steel_saturation_tesla : float
        Saturation polarisation of the steel, 0 for spacers that are not magnetic. [T]

    Returns
    -------
    tuple of float
        Least and greatest remanence. [T]

    References
    ----------
    roll_harmonics.csv.
    """
    from feedchar.field.harmonics import NO_IRON_TESLA
    from feedchar.field.solutions import solution_table

    if steel_saturation_tesla < NO_IRON_TESLA:
        return WEAKEST_TESLA, STRONGEST_TESLA
    nodes = solution_table().nodes[1]
    low, high = nodes[0] * steel_saturation_tesla, nodes[-1] * steel_saturation_tesla
    return number(max(low, WEAKEST_TESLA)), number(min(high, STRONGEST_TESLA))
