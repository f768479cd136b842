"""The circuits that are always compared."""

from __future__ import annotations

from dataclasses import replace

from feedchar.field.setting import Pass
from feedchar.plant.circuit import (
    COARSE,
    DUST,
    FINE,
    MAGNETICS,
    MIDDLE,
    MIDDLINGS,
    NON_MAGNETICS,
    PRODUCT,
    REJECT,
    ROLL,
    SCREEN,
    SPLIT,
    Circuit,
    Step,
)

ONE, TWO = "one pass", "two passes"
RETURNED = "two passes, middlings returned"
RETREATED = "magnetics retreated"
APART = "coarse and fine apart"
STANDARD = (ONE, TWO, RETURNED, RETREATED, APART)
MIDDLINGS_BEYOND = 2.0
"""The edge of the middlings, where a circuit needs one, over that of the magnetics (guess)."""
SCREEN_STEP = "screen"


def standard_circuits(
    machine: Pass,
    cut_um: float,
    window_um: tuple[float | None, float | None] = (None, None),
    fine_machine: Pass | None = None,
) -> dict[str, Circuit]:
    """The standard circuits at one setting of the roll.

    Parameters
    ----------
    machine : Pass
        Belt speed and edges of every pass. [SI]
    cut_um : float
        Where coarse and fine are parted. [um]
    window_um : tuple of float or None
        Passing and retained of a screen before all else; None: that end is open. Coarser goes
        to the reject, finer to the dust. [um]
    fine_machine : Pass or None
        Of the roll for the fine part; None: the same as for the coarse. [SI]

    Returns
    -------
    dict of str to Circuit
        By the names in STANDARD. [-]

    References
    ----------
    common practice, no source
    """
    single = replace(machine, splitter_2_m=None)
    triple = replace(machine, splitter_2_m=MIDDLINGS_BEYOND * machine.splitter_m)
    fine = single if fine_machine is None else replace(fine_machine, splitter_2_m=None)
    first, second = "roll 1", "roll 2"
    made = (
        Circuit(
            ONE,
            (_roll(first, single, PRODUCT),),
            words="each grain meets one roll",
        ),
        Circuit(
            TWO,
            (_roll(first, single, second), _roll(second, single, PRODUCT)),
            words="the non-magnetics meet a second roll",
        ),
        Circuit(
            RETURNED,
            (
                _roll(first, single, second),
                _roll(second, triple, PRODUCT, middlings=first),
            ),
            words="the middlings of the second roll go back to the first",
        ),
        Circuit(
            RETREATED,
            (
                _roll(first, single, PRODUCT, magnetics=second),
                _roll(second, single, first),
            ),
            words="the magnetics meet a second roll, whose non-magnetics go back",
        ),
        Circuit(
            APART,
            (
                Step("split", SPLIT, {COARSE: "coarse roll", FINE: "fine roll"}, at_um=cut_um),
                _roll("coarse roll", single, PRODUCT),
                _roll("fine roll", fine, PRODUCT),
            ),
            words=f"parted at {cut_um:g} um, one roll for each size",
        ),
    )
    return {circuit.name: screened(circuit, *window_um) for circuit in made}


def screened(circuit: Circuit, passing_um: float | None, retained_um: float | None) -> Circuit:
    """A circuit behind a screen.

    Parameters
    ----------
    circuit : Circuit
        Without one. [-]
    passing_um, retained_um : float or None
        Window that goes on; None: that end is open. [um]

    Returns
    -------
    Circuit
        The same where both ends are open. [-]

    References
    ----------
    common practice, no source
    """
    if passing_um is None and not retained_um:
        return circuit
    routes = {MIDDLE: circuit.entry}
    if passing_um is not None:
        routes[COARSE] = REJECT
    if retained_um:
        routes[FINE] = DUST
    first = Step(
        SCREEN_STEP, SCREEN, routes, passing_um=passing_um, retained_um=retained_um or None
    )
    return replace(circuit, steps=(first, *circuit.steps), feed_to=SCREEN_STEP)


def _roll(
    name: str,
    machine: Pass,
    clean: str,
    *,
    magnetics: str = REJECT,
    middlings: str | None = None,
) -> Step:
    routes = {MAGNETICS: magnetics, NON_MAGNETICS: clean}
    if middlings is not None:
        routes[MIDDLINGS] = middlings
    return Step(name, ROLL, routes, machine=machine)
