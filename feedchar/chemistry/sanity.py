"""The fifteen sanity rules of the trade, each a plain function of numbers.

Each returns a `Note` with the figure that tripped it, or None. A rule with an uncertainty warns
at 2 sd and stops at 4. The rules are common practice without a source. Oxides are wt % of the dry
bag, Fe2O3 all iron; minerals wt %.
"""

from __future__ import annotations

from math import sqrt

from feedchar.sample.records import Note

WARN_SD, STOP_SD = 2.0, 4.0
MAGNETITE_CHI = 5.8e-4
"""Low-field mass susceptibility of an equant grain of magnetite. [m³ kg⁻¹]"""


def severity_of(excess: float, sd: float) -> str | None:
    """How bad an excess is.

    Parameters
    ----------
    excess : float
        Amount by which a bound is passed, negative when it is not. [any]
    sd : float
        Its standard deviation. [as excess]

    Returns
    -------
    str or None
        "stop" beyond 4 sd, "warning" beyond 2, else None. [-]

    References
    ----------
    Common practice, no source.
    """
    if excess <= 0:
        return None
    score = excess / sd if sd > 0 else float("inf")
    if score > STOP_SD:
        return "stop"
    return "warning" if score > WARN_SD else None


def _note(rule: int, severity: str | None, text: str) -> Note | None:
    return None if severity is None else Note(f"sanity-{rule}", text, severity)


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
    return _note(1, severity_of(grade - richest, sd), text)


def iron_of_minerals(
    feed: float, feed_sd: float, least: float, greatest: float, minerals_sd: float
) -> Note | None:
    """Rule 2: the listed minerals against the iron of the bag.

    Parameters
    ----------
    feed, feed_sd : float
        Assayed Fe2O3 and its standard deviation. [wt %]
    least, greatest : float
        Fe2O3 of the listed minerals at the low and high ends of their iron. [wt %]
    minerals_sd : float
        Standard deviation of these by the amounts. [wt %]

    Returns
    -------
    Note or None
        Rule 2; iron in nothing listed is a note and never stops. [-]

    References
    ----------
    Common practice, no source.
    """
    sd = sqrt(feed_sd**2 + minerals_sd**2)
    severity = severity_of(least - feed, sd)
    if severity is not None:
        text = (
            f"the listed minerals carry at least {least:.3g} % Fe2O3, more than the {feed:.3g} % "
            "assayed"
        )
        return _note(2, severity, text)
    if feed - greatest > WARN_SD * sd:
        text = f"at least {feed - greatest:.3g} % Fe2O3 is in nothing listed"
        return _note(2, "note", text)
    return None


def ilmenite_titania(
    ilmenite: float, ilmenite_sd: float, titania: float, titania_sd: float
) -> Note | None:
    """Rule 3: ilmenite against TiO2.

    Parameters
    ----------
    ilmenite, ilmenite_sd : float
        Listed ilmenite and its standard deviation. [wt %]
    titania, titania_sd : float
        Assayed TiO2 and its standard deviation. [wt %]

    Returns
    -------
    Note or None
        Rule 3; TiO2 that is not ilmenite is a note. [-]

    References
    ----------
    Common practice, no source.
    """
    most = titania / 0.45
    sd = sqrt(ilmenite_sd**2 + (titania_sd / 0.45) ** 2)
    severity = severity_of(ilmenite - most, sd)
    if severity is not None:
        text = f"{ilmenite:.3g} % ilmenite listed, but TiO2 allows {most:.3g} % at most"
        return _note(3, severity, text)
    other = titania - 0.526 * ilmenite
    if other > WARN_SD * sqrt(titania_sd**2 + (0.526 * ilmenite_sd) ** 2) and other > 0.02:
        text = f"{other:.3g} % TiO2 is not ilmenite: expect it to stay with the product"
        return _note(3, "note", text)
    return None


def mica_potash(
    biotite: float, muscovite: float, minerals_sd: float, potash: float, potash_sd: float
) -> Note | None:
    """Rule 4: mica against K2O.

    Parameters
    ----------
    biotite, muscovite : float
        Listed micas. [wt %]
    minerals_sd : float
        Standard deviation of the potash they need. [wt %]
    potash, potash_sd : float
        Assayed K2O and its standard deviation. [wt %]

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
        f"the listed mica needs {needed:.3g} % K2O, more than the {potash:.3g} % assayed, before "
        "any feldspar"
    )
    return _note(4, severity_of(needed - potash, sqrt(minerals_sd**2 + potash_sd**2)), text)


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
    return _note(5, severity_of(needed - loi, sqrt(minerals_sd**2 + loi_sd**2)), text)


def alumina_balance(
    alumina: float, potash: float, soda: float, lime: float, sd: float
) -> Note | None:
    """Rule 6: alumina left when all alkalis and lime are feldspar.

    Parameters
    ----------
    alumina, potash, soda, lime : float
        Assayed oxides. [wt %]
    sd : float
        Standard deviation of the balance. [wt %]

    Returns
    -------
    Note or None
        Rule 6; it points and never stops. [-]

    References
    ----------
    Common practice, no source.
    """
    spare = alumina - 1.082 * potash - 1.645 * soda - 1.818 * lime
    if severity_of(-spare, sd):
        text = (
            f"alumina falls {-spare:.3g} % short of the alkalis and lime: peralkaline rock, lime "
            "outside feldspar, or alkalis high"
        )
        return _note(6, "note", text)
    if severity_of(spare - 1.0, sd):
        text = f"{spare:.3g} % alumina is not in feldspar: mica, clay or an alumina error"
        return _note(6, "note", text)
    return None


def oxide_total(without_loi: float, loi: float | None) -> Note | None:
    """Rule 7: the sum of the oxides.

    Parameters
    ----------
    without_loi : float
        Sum of all oxides but LOI. [wt %]
    loi : float or None
        Loss on ignition. [wt %]

    Returns
    -------
    Note or None
        Rule 7. [-]

    References
    ----------
    Common practice, no source.
    """
    if loi is not None and loi > 0.5 and 99.5 <= without_loi <= 100.5:
        text = (
            f"the oxides sum to {without_loi:.4g} % without {loi:.3g} % LOI: an ignited basis? "
            f"Then multiply them by {1.0 - loi / 100.0:.4g}"
        )
        return _note(7, "warning", text)
    total = without_loi + (loi or 0.0)
    if total < 99.0 or total > 101.0:
        text = (
            f"the analysis sums to {total:.4g} %: something not assayed or wrong (fused beads "
            "miss B, Li, F and water)"
        )
        return _note(7, "note" if total < 99.0 and loi is None else "warning", text)
    return None


def laboratory_ratio(higher: float, lower: float) -> Note | None:
    """Rule 8: two laboratories of which one gives Fe and the other Fe2O3.

    Parameters
    ----------
    higher, lower : float
        Their figures for iron. [wt %]

    Returns
    -------
    Note or None
        Rule 8. [-]

    References
    ----------
    Fe2O3/Fe = 1.4297; the window is common practice, no source.
    """
    ratio = higher / lower if lower > 0 else 0.0
    if not 1.40 <= ratio <= 1.46:
        return None
    text = f"two laboratories differ by a factor of {ratio:.3g}: does one give Fe, one Fe2O3?"
    return _note(8, "warning", text)


def unlisted_magnetite(bulk: float, bulk_sd: float, listed: float, listed_sd: float) -> Note | None:
    """Rule 9: susceptibility that no listed mineral carries.

    Parameters
    ----------
    bulk, bulk_sd : float
        Low-field susceptibility of the bag and its standard deviation. [m³ kg⁻¹]
    listed, listed_sd : float
        What the listed minerals give, and its standard deviation. [m³ kg⁻¹]

    Returns
    -------
    Note or None
        Rule 9, as ppm of magnetite; below zero beyond 4 sd the data disagree. [-]

    References
    ----------
    field_rule for magnetite; common practice, no source.
    """
    sd = sqrt(bulk_sd**2 + listed_sd**2)
    ppm = 1e6 * (bulk - listed) / MAGNETITE_CHI
    if severity_of(bulk - listed, sd):
        text = f"about {ppm:.3g} ppm of magnetite or tool steel is in no listed mineral"
        return _note(9, "warning", text)
    severity = severity_of(listed - bulk, sd)
    text = f"the bag is less magnetic ({bulk:.3g} m3/kg) than its listed minerals ({listed:.3g})"
    return _note(9, severity, text)


def hand_magnet(taken: float, strong_listed: bool) -> Note | None:
    """Rule 10: what a hand magnet took.

    Parameters
    ----------
    taken : float
        Mass taken. [wt %]
    strong_listed : bool
        True when a strongly magnetic mineral is listed. [-]

    Returns
    -------
    Note or None
        Rule 10. [-]

    References
    ----------
    Common practice, no source.
    """
    if taken <= 0.01 or strong_listed:
        return None
    text = (
        f"a hand magnet took {taken:.3g} % and no strongly magnetic mineral is listed: magnetite "
        "or steel; look at it before crushing"
    )
    return _note(10, "warning", text)
