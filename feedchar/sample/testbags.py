"""tests.csv: a row a weighed bag of a separation test."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

from feedchar.sample.columns import Column, TableSpec, choices
from feedchar.sample.names import fold
from feedchar.sample.records import Note, TestBag
from feedchar.sample.rows import Row
from feedchar.sample.shown import shown
from feedchar.units import M_PER_MM

PRODUCTS = choices(
    "magnetics",
    "middlings",
    "non-magnetics",
    "dust",
    "feed",
    "screened",
    magnetics="magnetic;mag;mags",
    middlings="middling;mid;mids",
    non_magnetics="nonmagnetics;non-mag;non-mags;nonmag;nonmags;nonmagnetic;non-magnetic",
    feed="charge;fed",
    screened="screen;sieved;size fraction",
)

SPEED_AGREES = 0.02
"""Relative difference up to which a belt speed and the roll's turns agree. [-]"""

SPEC = TableSpec(
    "tests",
    "Separation tests: one row a weighed bag. `from_bag` is the bag that was fed, `feed` being the "
    "bag as received; assays of these bags go into assays.csv by the name of the bag.",
    (
        Column("test", "name of the test", needed=True),
        Column("step", "pass or step within the test"),
        Column("repeat", "which repeat"),
        Column("machine", "hand magnet, drum, permanent roll, induced roll, ..."),
        Column("from_bag", "bag that was fed; `feed` or blank for the bag as received"),
        Column("bag", "name of this bag, once in the table", needed=True),
        Column(
            "product",
            "magnetics, middlings, non-magnetics, dust; feed (weighed in), screened (a size)",
            "choice",
            choices=PRODUCTS,
            needed=True,
        ),
        Column(
            "mass_g",
            "its mass; blank while it is not weighed yet",
            "number",
            "g",
            0,
            1e9,
            needed=True,
            may_wait=True,
        ),
        Column("belt_speed_m_s", "speed of the belt", "number", "m/s", 0, 20, True),
        Column("rpm", "turns of the roll a minute, instead", "number", "1/min", 0, 5000, True),
        Column("roll_diameter_mm", "roll diameter, with rpm", "number", "mm", 0, 2000, True),
        Column("splitter_mm", "first edge, beyond the roll face", "number", "mm", -50, 1000),
        Column("splitter_2_mm", "second edge, farther out", "number", "mm", -50, 1000),
        Column("feed_kg_h", "feed rate", "number", "kg/h", 0, 1e6, True),
        Column("belt_width_mm", "width of the layer on the belt", "number", "mm", 0, 10_000, True),
        Column(
            "current_a",
            "current of an induced roll or isodynamic separator",
            "number",
            "A",
            0,
            1000,
        ),
        Column("side_slope_deg", "side slope of an isodynamic separator", "number", "deg", -90, 90),
        Column("feed_temperature_c", "temperature of the sand", "number", "C", -50, 300),
        Column("roll_temperature_c", "temperature of the roll", "number", "C", -50, 300),
        Column("passing_um", "of a screened bag: the sieve it passes", "size", "um"),
        Column("retained_um", "of a screened bag: the sieve it stays on", "size or pan", "um"),
        Column("humidity_pct", "relative humidity of the air", "number", "%", 0, 100),
        Column("operator", "who ran it"),
        Column("date", "when, such as 2024-05-17", "date"),
    ),
)


def belt_speed_m_s(rpm: float, roll_diameter_m: float) -> float:
    """Speed of the roll face from its turns, the belt's thickness left out.

    Parameters
    ----------
    rpm : float
        Turns a minute. [min⁻¹]
    roll_diameter_m : float
        Diameter of the bare roll. [m]

    Returns
    -------
    float
        Speed. [m s⁻¹]

    References
    ----------
    Definition of the circumference.

    Examples
    --------
    >>> round(belt_speed_m_s(286.5, 0.1), 3)
    1.5
    """
    return pi * roll_diameter_m * rpm / 60.0


def read_tests(rows: Sequence[Row]) -> tuple[TestBag, ...]:
    """Weighed bags.

    Parameters
    ----------
    rows : sequence of Row
        Rows of tests.csv. [-]

    Returns
    -------
    tuple of TestBag
        In reading order, speeds in m/s, lengths in m; bags not weighed yet are left out. [-]

    Raises
    ------
    InputError
        For a bag twice or fed from itself, half of a speed, two speeds that differ, edges in the
        wrong order, or sieves of a bag that was not screened.
    """
    seen: dict[str, Row] = {}
    bags = []
    for row in rows:
        name = row.text("bag") or ""
        if fold(name) in seen:
            problem = f"the bag {shown(name)} already stands in row {seen[fold(name)].number}"
            raise row.error(
                problem,
                "bag",
                "A name a bag; a second weighing goes into a column of your own",
            )
        seen[fold(name)] = row
        bag = _bag(row, name)
        if row.number_of("mass_g") is not None:
            bags.append(bag)
    return tuple(bags)


def bags_waiting(rows: Sequence[Row]) -> tuple[Note, ...]:
    """What is told of bags without a mass.

    Parameters
    ----------
    rows : sequence of Row
        Rows of tests.csv. [-]

    Returns
    -------
    tuple of Note
        A warning where some bags are weighed and others are not, a note where none is; empty
        where all are. [-]
    """
    names = [row.text("bag") or "" for row in rows if row.number_of("mass_g") is None]
    if not names:
        return ()
    told = ", ".join(shown(name) for name in names[:3]) + (" and others" if names[3:] else "")
    text = f"{rows[0].file}: {len(names)} of {len(rows)} bags not weighed yet and left out ({told})"
    return (Note("not-weighed", text, "note" if len(names) == len(rows) else "warning"),)


def _bag(row: Row, name: str) -> TestBag:
    source = row.text("from_bag")
    if source is not None and fold(source) == fold(name):
        problem = f"the bag {shown(name)} is fed from itself"
        raise row.error(problem, "from_bag")
    first, second = (_metres(row, key) for key in ("splitter_mm", "splitter_2_mm"))
    if first is not None and second is not None and second <= first:
        problem = f"{1e3 * second:g} mm is not beyond the first edge at {1e3 * first:g} mm"
        raise row.error(
            problem,
            "splitter_2_mm",
            "The second edge is the larger one",
        )
    sizes = [row.number_of(key) for key in ("passing_um", "retained_um")]
    _refuse_window(row, *sizes)
    return TestBag(
        test=row.text("test") or "",
        step=row.text("step"),
        repeat=row.text("repeat"),
        machine=row.text("machine"),
        from_bag=source,
        bag=name,
        product=row.text("product") or "",
        mass_g=row.number_of("mass_g") or 0.0,
        belt_speed_m_s=_speed(row),
        splitter_m=first,
        splitter_2_m=second,
        feed_kg_h=row.number_of("feed_kg_h"),
        belt_width_m=_metres(row, "belt_width_mm"),
        current_a=row.number_of("current_a"),
        side_slope_deg=row.number_of("side_slope_deg"),
        feed_temperature_c=row.number_of("feed_temperature_c"),
        roll_temperature_c=row.number_of("roll_temperature_c"),
        humidity_pct=row.number_of("humidity_pct"),
        operator=row.text("operator"),
        date=row.text("date"),
        place=row.place("bag"),
        passing_um=sizes[0],
        retained_um=sizes[1],
    )


def _refuse_window(row: Row, passing_um: float | None, retained_um: float | None) -> None:
    screened = row.text("product") == "screened"
    given = passing_um is not None or retained_um is not None
    if screened and not given:
        problem = "a screened bag needs its sieves"
        raise row.error(problem, "passing_um", "Give passing_um, retained_um or both")
    if given and not screened:
        problem = f"sieves belong to a screened bag, and this one is {row.text('product')}"
        remedy = "Give the screened bag a row of its own and feed it to the machine"
        raise row.error(problem, "passing_um" if passing_um is not None else "retained_um", remedy)
    if passing_um is not None and retained_um is not None and retained_um >= passing_um:
        problem = f"passes {passing_um:g} um but stays on {retained_um:g} um"
        raise row.error(problem, "retained_um", "The sieve it passes is the larger one")


def _metres(row: Row, name: str) -> float | None:
    value = row.number_of(name)
    return None if value is None else value * M_PER_MM


def _speed(row: Row) -> float | None:
    speed, rpm = row.number_of("belt_speed_m_s"), row.number_of("rpm")
    diameter = row.number_of("roll_diameter_mm")
    if rpm is not None and diameter is None:
        problem = "rpm needs the diameter of the roll"
        raise row.error(problem, "rpm", "Give roll_diameter_mm")
    if rpm is None or diameter is None:
        return speed
    turned = belt_speed_m_s(rpm, diameter * M_PER_MM)
    if speed is not None and abs(speed - turned) > SPEED_AGREES * turned:
        problem = (
            f"{speed:g} m/s, but {rpm:g} turns a minute of {diameter:g} mm make {turned:.3g} m/s"
        )
        raise row.error(
            problem,
            "belt_speed_m_s",
            "Give one of the two",
        )
    return speed if speed is not None else turned
