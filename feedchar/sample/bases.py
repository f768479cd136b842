"""Dried, as received, ignited: every assay is brought to the dried basis.

Dried means at 105 to 110 C to constant mass. Ignited figures are per mass after the loss on
ignition; figures as received are per mass with the moisture of the bag.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from feedchar.errors import InputError
from feedchar.sample.columns import Column, choices
from feedchar.sample.oxides import OxideReading
from feedchar.sample.records import Note

BASES = choices(
    "dried", "as received", "ignited", dried="dry;105 c;oven dry", as_received="received;wet"
)


def basis_column(of: str) -> Column:
    """The column (or key) that states a basis.

    Parameters
    ----------
    of : str
        What has that basis, for the explanation. [-]

    Returns
    -------
    Column
        Its declaration. [-]
    """
    return Column(
        "basis",
        f"basis of the {of}: dried (when blank), as received, ignited",
        "choice",
        choices=BASES,
    )


def dried_from_received(value_wt_pct: float, moisture_pct: float) -> float:
    """Share of the dry mass from a share of the mass as received.

    Parameters
    ----------
    value_wt_pct : float
        Share of the wet mass. [wt %]
    moisture_pct : float
        Water in the wet mass. [wt %]

    Returns
    -------
    float
        Share of the dry mass. [wt %]

    References
    ----------
    Mass balance of the water; common practice, no source.

    Examples
    --------
    >>> dried_from_received(0.19, 5.0)
    0.2
    """
    return value_wt_pct / (1.0 - moisture_pct / 100.0)


def dried_from_ignited(value_wt_pct: float, loi_wt_pct: float) -> float:
    """Share of the dry mass from a share of the ignited mass.

    Parameters
    ----------
    value_wt_pct : float
        Share of the ignited mass. [wt %]
    loi_wt_pct : float
        Loss on ignition of the dry mass. [wt %]

    Returns
    -------
    float
        Share of the dry mass. [wt %]

    References
    ----------
    Mass balance of the loss; sanity rule of the trade, common practice, no source.

    Examples
    --------
    >>> dried_from_ignited(50.0, 10.0)
    45.0
    """
    return value_wt_pct * (1.0 - loi_wt_pct / 100.0)


def to_dried(
    readings: Mapping[str, OxideReading],
    basis: str | None,
    moisture_pct: float | None,
    notes: list[Note],
    loi_wt_pct: float | None = None,
) -> dict[str, OxideReading]:
    """Readings of one assay on the dried basis.

    Parameters
    ----------
    readings : mapping of str to OxideReading
        Oxides as reported. [wt %]
    basis : str or None
        dried, as received or ignited; None is dried. [-]
    moisture_pct : float or None
        Moisture of the bag. [%]
    notes : list of Note
        Extended by what was converted. [-]
    loi_wt_pct : float or None
        Loss on ignition where the readings do not hold it. [wt %]

    Returns
    -------
    dict
        Oxide to reading; the loss on ignition itself is of the dry mass already where the rest
        is ignited. [wt %]

    Raises
    ------
    InputError
        When moisture or the loss on ignition is needed and not given.
    """
    if not readings or basis in (None, "dried"):
        return dict(readings)
    place = next(iter(readings.values())).place
    where = place.file if place.row is None else f"{place.file}, row {place.row}"
    if basis == "as received":
        if moisture_pct is None:
            problem = "the basis is as received, and the moisture of the bag is not given"
            raise InputError(
                problem,
                file=place.file,
                row=place.row,
                column="basis",
                remedy="Give moisture_pct in the sample",
            )
        text = f"{where}: as received to dried, moisture {moisture_pct:g} %"
        notes.append(Note("basis", f"{text}; a loss on ignition is taken as without the moisture"))
        return {
            name: _scaled(reading, dried_from_received(1.0, moisture_pct))
            for name, reading in readings.items()
        }
    loss = readings["LOI"].value if "LOI" in readings else loi_wt_pct
    if loss is None:
        problem = "the basis is ignited, and the loss on ignition is not given"
        raise InputError(
            problem,
            file=place.file,
            row=place.row,
            column="basis",
            remedy="Give LOI, in % of the dry mass",
        )
    notes.append(Note("basis", f"{where}: ignited to dried, loss on ignition {loss:g} %"))
    return {
        name: reading if name == "LOI" else _scaled(reading, dried_from_ignited(1.0, loss))
        for name, reading in readings.items()
    }


def _scaled(reading: OxideReading, factor: float) -> OxideReading:
    sd = None if reading.sd is None else reading.sd * factor
    return replace(reading, value=reading.value * factor, sd=sd)
