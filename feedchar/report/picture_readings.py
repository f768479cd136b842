"""The numbers behind each picture, read from the result once for drawing and for its table."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from feedchar.report.carriers import UNSEEN, by_iron, is_trace, lines_of, main_line
from feedchar.report.readings import size_class
from feedchar.report.words import FORM_WORDS, name
from feedchar.results import Characterisation, MineralResult, StayLine

MOST_CARRIERS = 9
"""Rows of the picture of iron; smaller carriers are gathered in one. [-]"""
MOST_PHASES = 8
"""Lines of the picture of fields. [-]"""
OPEN_CLASS_SPAN = 4.0
"""Coarse over fine end of the pan, as where the window is applied (guess). [-]"""
LEAST_LINE_PPM = 0.5
"""Lines of iron that stays below this are not drawn. [ppm]"""
OTHERS = "all others"


@dataclass(frozen=True)
class Carrier:
    """Iron of one carrier by form, of 100 iron of the bag."""

    label: str
    role: str
    shares: dict[str, float]

    @property
    def total(self) -> float:
        """All forms together. [% of the iron]"""
        return sum(self.shares.values())


@dataclass(frozen=True)
class SizeIron:
    """Iron and sand of one size class, typical case."""

    label: str
    passing_um: float
    retained_um: float
    treated: float
    """Share of the class that goes to the machine, 0 to 1."""
    leaves: float
    """Iron that goes to the magnetics, of 100 iron of the bag."""
    stays: float
    """Iron that does not."""
    pale_lost_pct: float | None
    """Of the pale grains of this class; None where it is not treated or holds none."""


@dataclass(frozen=True)
class FieldNeeded:
    """Flux density that one phase needs, by size."""

    label: str
    role: str
    sizes: tuple[tuple[float, float], ...]
    """(passing, retained) [µm]"""
    tesla: tuple[float, ...]


def carriers(result: Characterisation) -> tuple[Carrier, ...]:
    """Iron by carrier and form, of 100 iron, typical case.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    tuple of Carrier
        The largest first, the smallest gathered at the end. [% of the iron]
    """
    roles = {phase.mineral: phase.role for phase in result.minerals}
    found: dict[str, dict[str, float]] = {}
    for line in result.iron:
        forms = found.setdefault(line.mineral, {})
        forms[line.form] = forms.get(line.form, 0.0) + line.share_of_iron_pct
    made = [
        Carrier(_label(mineral), roles.get(mineral, ""), forms) for mineral, forms in found.items()
    ]
    made.sort(key=lambda carrier: (-carrier.total, carrier.label))
    if len(made) <= MOST_CARRIERS:
        return tuple(made)
    rest: dict[str, float] = {}
    for carrier in made[MOST_CARRIERS - 1 :]:
        for form, part in carrier.shares.items():
            rest[form] = rest.get(form, 0.0) + part
    return (*made[: MOST_CARRIERS - 1], Carrier(OTHERS, "", rest))


def forms_of(found: tuple[Carrier, ...]) -> tuple[str, ...]:
    """Forms in which any carrier holds iron.

    Parameters
    ----------
    found : tuple of Carrier
        What `carriers` returns. [-]

    Returns
    -------
    tuple of str
        From free to not found. [-]
    """
    held = {form for carrier in found for form, part in carrier.shares.items() if part > 0}
    return tuple(form for form in FORM_WORDS if form in held) + tuple(
        sorted(held - set(FORM_WORDS))
    )


def size_irons(result: Characterisation) -> tuple[SizeIron, ...]:
    """Iron and loss of sand, size class by size class, typical case.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    tuple of SizeIron
        Coarse first; all irons together are 100. [% of the iron]
    """
    taken = {
        (line.mineral, line.form, line.passing_um, line.retained_um): line.share_to_magnetics
        for line in result.response
    }
    sizes = sorted({(line.passing_um, line.retained_um) for line in result.iron}, reverse=True)
    made = []
    for passing, retained in sizes:
        treated = _treated(result, passing, retained)
        leaves = stays = 0.0
        for line in result.iron:
            if (line.passing_um, line.retained_um) != (passing, retained):
                continue
            share = taken.get((line.mineral, line.form, passing, retained)) or 0.0
            leaves += line.share_of_iron_pct * share * treated
            stays += line.share_of_iron_pct * (1.0 - share * treated)
        lost = _pale_lost(result, passing, retained) if treated > 0 else None
        label = size_class(passing, retained)
        made.append(SizeIron(label, passing, retained, treated, leaves, stays, lost))
    return tuple(made)


def _treated(result: Characterisation, passing_um: float, retained_um: float) -> float:
    """Share of a class in the window; one that is cut is split evenly in the logarithm of size."""
    setting = result.setting
    low = retained_um if retained_um > 0 else passing_um / OPEN_CLASS_SPAN
    top = min(passing_um, setting.treated_passing_um or passing_um)
    bottom = min(max(setting.treated_retained_um or low, low), passing_um)
    return max(0.0, log(top / bottom)) / log(passing_um / low) if top > bottom else 0.0


def _pale_lost(result: Characterisation, passing_um: float, retained_um: float) -> float | None:
    """Pale grains of a class in the magnetics, each phase weighed by its mass in the bag."""
    masses = {p.mineral: p.mass_pct.typical or 0.0 for p in result.minerals if p.role == "host"}
    held = [
        (masses[line.mineral], line.share_to_magnetics)
        for line in result.response
        if line.mineral in masses
        and line.form in ("inside", "free")
        and (line.passing_um, line.retained_um) == (passing_um, retained_um)
        and line.share_to_magnetics is not None
    ]
    total = sum(mass for mass, _ in held)
    if total <= 0:
        return None
    return 100.0 * sum(mass * (part or 0.0) for mass, part in held) / total


def stay_lines(
    result: Characterisation, least_ppm: float = LEAST_LINE_PPM
) -> tuple[tuple[StayLine, float], ...]:
    """Lines of iron that stays with the iron told of each.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    least_ppm : float
        Lines with less are left out. [ppm]

    Returns
    -------
    tuple of (StayLine, float)
        The largest first; mean of the trials, typical where there are none. [ppm of product]
    """
    told = [
        (line, line.Fe2O3_ppm_of_product if mean is None else mean)
        for line in result.iron_that_stays
        for mean in [line.mean_Fe2O3_ppm_of_product]
    ]
    kept = [entry for entry in told if entry[1] >= least_ppm]
    return tuple(sorted(kept, key=lambda entry: (-entry[1], entry[0].reason)))


def fields_needed(result: Characterisation) -> tuple[FieldNeeded, ...]:
    """Flux density each phase needs by size, the phases with most iron first.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    tuple of FieldNeeded
        Phases that no field holds are left out. [T]
    """
    made = []
    for phase in by_iron(result):
        if phase.mineral == UNSEEN or is_trace(phase) or phase.role == "host":
            continue
        needed = _needed(result, phase)
        if needed is not None:
            made.append(needed)
    return tuple(made[:MOST_PHASES])


def _needed(result: Characterisation, phase: MineralResult) -> FieldNeeded | None:
    main = main_line(lines_of(result, phase.mineral))
    if main is None:
        return None
    found = sorted(
        (
            (line.passing_um, line.retained_um, line.flux_density_needed_tesla)
            for line in result.response
            if line.mineral == phase.mineral
            and line.form == main.form
            and line.flux_density_needed_tesla is not None
        ),
    )
    if not found:
        return None
    sizes = tuple((passing, retained) for passing, retained, _ in found)
    return FieldNeeded(
        _label(phase.mineral), phase.role, sizes, tuple(tesla or 0.0 for *_, tesla in found)
    )


def _label(mineral: str) -> str:
    return "unseen iron" if mineral == UNSEEN else name(mineral, 32)
