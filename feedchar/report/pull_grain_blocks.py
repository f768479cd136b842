"""What the calculator says of single grains: what answers, what is offered, what a speed does."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.calibration_blocks import calibrated
from feedchar.report.carriers import machine_for
from feedchar.report.numbers import DASH, number, spread
from feedchar.report.readings import MICROMETRE, SQUARED, tesla
from feedchar.report.words import NO_BREAK, name, prose
from feedchar.results.pull import GrainPull, PullResult, SpeedPull
from feedchar.units import M3_KG_PER_CM3_G

FASTEST_TOLD = 15.0
"""No belt runs faster, so no more is told. [m/s]"""
SUSCEPTIBILITY_SI = 1e-9
SUSCEPTIBILITY_CGS = 1e-6 * M3_KG_PER_CM3_G


def phases_block(result: PullResult, units: str) -> Block:
    """The phases as taken: susceptibility, moment, iron, isodynamic current.

    Parameters
    ----------
    result : PullResult
        The result. [-]
    units : str
        trade (cgs beside SI) or si. [-]

    Returns
    -------
    Block
        A row a phase. [-]
    """
    trade = units == "trade"
    columns = (
        Column("phase"),
        Column("1e-9 m3/kg", "number"),
        *((Column("1e-6 cm3/g", "number"),) if trade else ()),
        Column(f"moment, A{NO_BREAK}m2/kg", "number", optional=True),
        Column("Fe, wt %", "number"),
        Column("density, kg/m3", "number", optional=True),
        Column("divides at, A", "number"),
        Column("status"),
    )
    rows = tuple(
        Row(
            (
                name(phase.phase),
                f"{phase.mass_susceptibility_m3_kg / SUSCEPTIBILITY_SI:.3g}",
                *(
                    (f"{phase.mass_susceptibility_m3_kg / SUSCEPTIBILITY_CGS:.3g}",)
                    if trade
                    else ()
                ),
                number(phase.saturation_moment_A_m2_kg) if phase.moment != "none" else DASH,
                DASH if phase.iron_wt_pct is None else f"{phase.iron_wt_pct:.3g}",
                f"{phase.density_kg_m3:.0f}",
                DASH if phase.isodynamic_current_a is None else f"{phase.isodynamic_current_a:.2f}",
                phase.status,
            )
        )
        for phase in result.phases
    )
    text = (
        "Mass susceptibility of the linear part, at the temperature of the feed. Divides at: coil "
        f"current of an isodynamic separator at a side slope of {result.side_slope_deg:g} degrees; "
        "its constant belongs to one magnet. Typical grains: single ones differ by a quarter or "
        "more."
    )
    return Block("phases", "WHAT ANSWERS", (Table(columns, rows), Words(text, "quiet")))


def grains_block(result: PullResult) -> Block:
    """What does not depend on the belt speed: force offered, pull, fastest belt, fall.

    Parameters
    ----------
    result : PullResult
        The result. [-]

    Returns
    -------
    Block
        A row a phase and size. [-]
    """
    columns = (
        Column(f"phase, {MICROMETRE}"),
        Column(f"thick, {MICROMETRE}", "number", optional=True),
        Column("offered", "number"),
        Column("least", "number", optional=True),
        Column("most", "number", optional=True),
        Column("pull, m/s2", "number"),
        Column("fastest, m/s", "number"),
        Column("falls, m/s", "number", optional=True),
    )
    rows = tuple(
        Row(
            (
                _grain(grain),
                DASH if grain.thickness_um is None else number(grain.thickness_um),
                force(grain.force_product_offered_tesla2_m),
                force(grain.force_product_offered_least_tesla2_m),
                force(grain.force_product_offered_greatest_tesla2_m),
                _pull(grain.pull_m_s2),
                _speed(grain.belt_speed_max_m_s),
                number(grain.terminal_velocity_m_s),
            )
        )
        for grain in result.grains
    )
    text = (
        f"Offered: {SQUARED} on the belt or bare roll, mean over grain and axis. Fastest: belt "
        "speed that still holds it to the side of the roll, 90 degrees from the top. Falls: "
        "terminal velocity in still air. Flakes lie flat, a tenth as thick as wide (a guess)."
    )
    parts: tuple[Part, ...] = (Table(columns, rows), Words(text, "quiet"))
    used = result.calibration
    if used is not None:
        text = (
            f"M{calibrated(used)[1:]}. Its pull, {used.pull_factor:.2f} times what the "
            "construction gives, is counted in pull, speeds, angles and landings; offered and "
            f"needed are those of the construction. It missed {100 * used.missed_share:.2g} % of a "
            f"feed and carried {100 * used.carried_share:.2g} % of the sand, and its grains clung "
            f"with {1e9 * used.adhesion_N:.2g} nN: none of these is counted for a single grain."
        )
        parts = (*parts, Words(prose(text)))
    return Block("grains", "WHAT IS OFFERED THEM", parts)


def speed_block(result: PullResult, place: int, speed: float, units: str) -> Block:
    """One belt speed: what holds each grain, and where it goes.

    Parameters
    ----------
    result : PullResult
        The result. [-]
    place : int
        Which of the speeds. [-]
    speed : float
        Belt speed. [m s⁻¹]
    units : str
        trade (tesla and kilogauss) or si (tesla). [-]

    Returns
    -------
    Block
        Two tables; the words that explain them stand below the last speed. [-]
    """
    unit = "T" if units == "si" else "T (kG)"
    at = [(grain, grain.at_speed[place]) for grain in result.grains]
    belt = f"{speed:g}{NO_BREAK}m/s"
    hold = Table(
        (
            Column(f"phase, {MICROMETRE}"),
            Column("reports to"),
            Column(f"needs, {SQUARED}", "number"),
            Column("offered", "number", optional=True),
            Column("B1 to 90", "number"),
            Column("B1 to 180", "number"),
        ),
        tuple(
            Row(
                (
                    _grain(grain),
                    machine_for(
                        there.reports_to,
                        there.force_product_needed_tesla2_m is not None,
                        belt,
                    ),
                    force(there.force_product_needed_tesla2_m),
                    force(grain.force_product_offered_tesla2_m),
                    tesla(there.flux_density_needed_tesla, units),
                    tesla(there.flux_density_needed_180_tesla, units),
                )
            )
            for grain, there in at
        ),
    )
    radius = result.machine.roll_radius_m
    flight = Table(
        (
            Column(f"phase, {MICROMETRE}"),
            Column("leaves at", "number"),
            Column("least to most", "number", optional=True),
            Column("round, %", "number"),
            Column("lands, mm", "number"),
            Column("thrown, mm", "number"),
        ),
        tuple(
            Row(
                (
                    _grain(grain),
                    f"{there.detachment_angle_deg:.0f}",
                    _between(there.detachment_angle_least_deg, there.detachment_angle_greatest_deg),
                    DASH
                    if there.carried_round_share is None
                    else f"{100 * there.carried_round_share:.0f}",
                    _lands(there, radius),
                    DASH
                    if there.landing_without_pull_m is None
                    else _whole(1e3 * (there.landing_without_pull_m - radius)),
                )
            )
            for grain, there in at
        ),
    )
    permanent = result.machine.machine == "permanent-roll"
    more = ", so this roll holds a little more" if permanent else ""
    text = (
        f"Needs: {SQUARED} at the grain to hold it to the side of the roll. B1 to 90 does the "
        f"same, to 180 carries it under; both by the first harmonic alone{more}. "
        "Leaves at: degrees from the top in the mean pull, then where the pull is least and most. "
        "Round: share of places along the axis that carry it round. Lands: where the others land "
        "it, mm beyond the roll face and 10 mm below its lowest point (negative: under the roll), "
        "in still air, pulled on in flight. Thrown: level from the top without pull; - meets the "
        "belt again."
    )
    slow = speed <= result.throw_off_speed_m_s
    side = "below" if slow else "above"
    subtitle = (
        f"{side} the {result.throw_off_speed_m_s:.2f} m/s at which sand leaves at the top; "
        f"B1 in {unit}"
    )
    words = (Words(text, "quiet"),) if place == len(result.grains[0].at_speed) - 1 else ()
    return Block(f"speed_{place + 1}", f"AT {speed:g} M/S", (hold, flight, *words), prose(subtitle))


def _grain(grain: GrainPull) -> str:
    return f"{name(grain.phase)}{NO_BREAK}{grain.size_um:g}"


def force(value: float | None) -> str:
    """Force product as text.

    Parameters
    ----------
    value : float or None
        Force product. [T² m⁻¹]

    Returns
    -------
    str
        "-" when undefined. [T² m⁻¹]
    """
    return DASH if value is None else number(value)


def _pull(value: float) -> str:
    return f"{value:.1f}" if abs(value) < 10 else f"{value:.0f}"


def _speed(value: float | None) -> str:
    if value is None:
        return DASH
    return f">{FASTEST_TOLD:.0f}" if value > FASTEST_TOLD else f"{value:.2f}"


def _whole(value: float) -> str:
    return f"{round(value) + 0}"  # adding zero turns -0 into 0


def _between(low: float, high: float) -> str:
    return spread(_whole(low), _whole(high))


def _lands(there: SpeedPull, radius: float) -> str:
    low, high = there.landing_least_m, there.landing_greatest_m
    if low is None or high is None:
        return DASH
    return _between(1e3 * (low - radius), 1e3 * (high - radius))
