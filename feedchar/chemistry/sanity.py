"""Sanity rules 1 to 5 of the trade: minerals against assays, as plain functions of numbers.

Rules 6 to 8 are in sanity_of_assay, 9 and 10 in sanity_of_magnets, 11 to 15 in sanity_of_tests.
Each returns a `Note` with the figure that tripped it, or None. A rule with an uncertainty warns
at 2 sd and stops at 4. The rules are common practice without a source. Oxides are wt % of the dry
bag, Fe2O3 all iron; minerals wt %.
"""

from __future__ import annotations

from math import sqrt

from feedchar.chemistry.severity import WARN_SD, note_of, severity_of, severity_of_amount
from feedchar.sample.records import Note


def reject_grade(
    feed: float, product: float, yield_fraction: float, richest: float,
    feed_sd: float, product_sd: float, yield_sd: float,
) -> Note | None:  # fmt: skip
    """Rule 1: the reject cannot be richer than its richest mineral.

    Parameters
    ----------
    feed, product : float
        Fe2O3. [wt %]
    yield_fraction : float
        Mass of product over feed, below 1. [-]
    richest : float
        Greatest Fe2O3 of the listed magnetic phases. [wt %]
    feed_sd, product_sd, yield_sd : float
        Their standard deviations. [wt %, wt %, -]

    Returns
    -------
    Note or None
        Rule 1. [-]

    References
    ----------
    Common practice, no source.
    """
    rest = 1.0 - yield_fraction
    grade = (feed - yield_fraction * product) / rest
    by_yield = (feed - product) / rest**2
    sd = sqrt((feed_sd / rest) ** 2 + (yield_fraction / rest * product_sd) ** 2
              + (by_yield * yield_sd) ** 2)  # fmt: skip
    text = (
        f"the balance puts {grade:.3g} % Fe2O3 into the reject, more than the {richest:.3g} % of "
        "its richest listed mineral: yield, an assay or the list of minerals is wrong"
    )
    return note_of(1, severity_of(grade - richest, sd), text)


def iron_of_minerals(
    feed: float, feed_sd: float, least: float, greatest: float, minerals_sd: float,
    *, below: bool = False,
) -> Note | None:  # fmt: skip
    """Rule 2: the listed minerals against the iron of the bag.

    Parameters
    ----------
    feed, feed_sd : float
        Assayed Fe2O3 and its standard deviation. [wt %]
    least, greatest : float
        Fe2O3 of the listed minerals at the low and high ends of their iron. [wt %]
    minerals_sd : float
        Standard deviation of these by the amounts. [wt %]
    below : bool
        The assay is a `<`: its upper end is `feed`. [-]

    Returns
    -------
    Note or None
        Rule 2; iron in nothing listed is a note and never stops. [-]

    References
    ----------
    Common practice, no source.
    """
    sd = sqrt(feed_sd**2 + minerals_sd**2)
    severity = severity_of_amount(least, minerals_sd, feed, feed_sd)
    if severity is not None:
        text = (
            f"the listed minerals carry at least {least:.3g} % Fe2O3, more than the "
            f"{_assayed(feed, below)} % assayed"
        )
        return note_of(2, severity, text)
    if not below and feed - greatest > WARN_SD * sd:
        text = f"at least {feed - greatest:.3g} % Fe2O3 is in nothing listed"
        return note_of(2, "note", text)
    return None


def ilmenite_titania(
    ilmenite: float, ilmenite_sd: float, titania: float, titania_sd: float, *, below: bool = False
) -> Note | None:
    """Rule 3: ilmenite against TiO2.

    Parameters
    ----------
    ilmenite, ilmenite_sd : float
        Listed ilmenite and its standard deviation. [wt %]
    titania, titania_sd : float
        Assayed TiO2 and its standard deviation. [wt %]
    below : bool
        The assay is a `<`: its upper end is `titania`. [-]

    Returns
    -------
    Note or None
        Rule 3; TiO2 that is not ilmenite is a note. [-]

    References
    ----------
    Common practice, no source.
    """
    most = titania / 0.45
    severity = severity_of_amount(ilmenite, ilmenite_sd, most, titania_sd / 0.45)
    if severity is not None:
        text = f"{ilmenite:.3g} % ilmenite listed, but TiO2 allows {most:.3g} % at most"
        return note_of(3, severity, text)
    other = 0.0 if below else titania - 0.526 * ilmenite
    if other > WARN_SD * sqrt(titania_sd**2 + (0.526 * ilmenite_sd) ** 2) and other > 0.02:
        text = f"{other:.3g} % TiO2 is not ilmenite: expect it to stay with the product"
        return note_of(3, "note", text)
    return None


def mica_potash(
    biotite: float, muscovite: float, minerals_sd: float, potash: float, potash_sd: float,
    *, below: bool = False,
) -> Note | None:  # fmt: skip
    """Rule 4: mica against K2O.

    Parameters
    ----------
    biotite, muscovite : float
        Listed micas. [wt %]
    minerals_sd : float
        Standard deviation of the potash they need. [wt %]
    potash, potash_sd : float
        Assayed K2O and its standard deviation. [wt %]
    below : bool
        The assay is a `<`: its upper end is `potash`. [-]

    Returns
    -------
    Note or None
        Rule 4. [-]

    References
    ----------
    Common practice, no source.
    """
    needed = 0.101 * biotite + 0.117 * muscovite
    text = (
        f"the listed mica needs {needed:.3g} % K2O, more than the {_assayed(potash, below)} % "
        "assayed, before any feldspar"
    )
    return note_of(4, severity_of_amount(needed, minerals_sd, potash, potash_sd), text)


def loss_on_ignition(
    mica: float, kaolinite: float, goethite: float, calcite: float, ferrous: float,
    minerals_sd: float, loi: float, loi_sd: float,
) -> Note | None:  # fmt: skip
    """Rule 5: volatile minerals against the loss on ignition.

    Parameters
    ----------
    mica, kaolinite, goethite, calcite : float
        Listed amounts. [wt %]
    ferrous : float
        FeO, which gains oxygen. [wt %]
    minerals_sd : float
        Standard deviation of the loss they mean. [wt %]
    loi, loi_sd : float
        Measured loss and its standard deviation. [wt %]

    Returns
    -------
    Note or None
        Rule 5. [-]

    References
    ----------
    Common practice, no source.
    """
    needed = 0.04 * mica + 0.14 * kaolinite + 0.10 * goethite + 0.44 * calcite - 0.111 * ferrous
    text = f"loss on ignition {loi:.3g} % is too small for the listed minerals ({needed:.3g} %)"
    return note_of(5, severity_of(needed - loi, sqrt(minerals_sd**2 + loi_sd**2)), text)


def _assayed(value: float, below: bool) -> str:
    return f"{'<' if below else ''}{value:.3g}"
