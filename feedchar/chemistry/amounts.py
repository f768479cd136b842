"""From rows of minerals.csv to one amount for each phase of the bag."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from feedchar.chemistry.assumed import only_fractions
from feedchar.chemistry.mineral_trials import Amount, count_shape, diffraction_sd
from feedchar.chemistry.mineralogy import PhaseModel
from feedchar.chemistry.sizes import inside
from feedchar.chemistry.system import FOUND
from feedchar.sample.records import MineralAmount, Sample

OPAQUE = frozenset([
    "ilmenite", "pseudorutile", "leucoxene", "hematite", "martite", "goethite", "limonite",
    "lepidocrocite", "magnetite", "maghemite", "titanomagnetite", "chromite", "hercynite",
    "pyrolusite", "wuestite", "columbite", "wolframite", "pyrite", "marcasite", "pyrrhotite",
    "chalcopyrite", "metallic iron",
])  # fmt: skip
OPAQUE_SHAPE = 25.0
"""An opaque count is never better than 20 %: several authors on one rock differ by 23 %. [-]"""
FLAKE_VOLUME = 0.15
"""Volume of a flake a tenth as thick as wide, over that of a sphere of its width. [-]"""
FLAKE_LN_SD = 0.5
"""Uncertainty of that thickness. [-]"""
_DETECTION = {"count": 0.1, "diffraction": 0.5}


def method_of(row: MineralAmount) -> str:
    """Kind of method behind a row: count, or diffraction for all others.

    Parameters
    ----------
    row : MineralAmount
        A row of minerals.csv. [-]

    Returns
    -------
    str
        "count" or "diffraction" (which also stands for an estimate or an unknown method). [-]

    References
    ----------
    Common practice, no source.
    """
    if row.basis in ("points", "grains"):
        return "count"
    words = (row.method or "").casefold()
    return "count" if "count" in words or "point" in words else "diffraction"


def amount_of(row: MineralAmount, phase: PhaseModel, grain_volume: float = 1.0) -> Amount:
    """What one row says of its phase, on the mass basis.

    Parameters
    ----------
    row : MineralAmount
        A row of minerals.csv. [-]
    phase : PhaseModel
        Its phase, for density and shape. [-]
    grain_volume : float
        Volume of a grain of this phase over that of the others, for grain counts. [-]

    Returns
    -------
    Amount
        Relative by mass; the mean is not yet scaled to the bag. [wt %]

    References
    ----------
    hillier_2000 and vermeesch_2015 for the two kinds of spread. A listed amount is never taken
    to be less certain than an exponential (k = 1) unless its sd was given.
    """
    text = f"{row.mineral} {row.value:g} ({row.method or row.basis})"
    per_volume = phase.density_kg_m3 / 1000.0
    to_mass = {
        "mass_pct": 1.0,
        "volume_pct": per_volume,
        "points": per_volume,
        "grains": per_volume * grain_volume,
    }[row.basis]
    counted = row.basis in ("points", "grains")
    if row.below_detection:
        return Amount("interval", limit=row.value * to_mass, text=text)
    if row.value == 0 and not counted:
        limit = row.detection_limit_pct or _DETECTION[method_of(row)]
        return Amount("not found", limit=limit * to_mass, text=text)
    if counted:
        shape, mean = count_shape(row.value), count_shape(row.value) * to_mass
    else:
        sd = row.sd if row.sd is not None else diffraction_sd(row.value)
        shape, mean = (row.value / sd) ** 2 if sd > 0 else 1e8, row.value * to_mass
        shape = max(shape, 0.25 if row.sd is not None else 1.0)
    if method_of(row) == "count":
        if row.mineral in OPAQUE:
            shape = min(shape, OPAQUE_SHAPE)
        if row.basis == "grains" and phase.shape == "flake":
            shape = 1.0 / (1.0 / shape + FLAKE_LN_SD**2)
    return Amount("count" if counted else "gamma", mean=mean, shape=min(shape, 1e8), text=text)


def grain_volumes(sample: Sample, phases: dict[str, PhaseModel]) -> dict[str, float]:
    """Relative volume of a grain of each phase, for grain counts.

    Parameters
    ----------
    sample : Sample
        For grain sizes and thicknesses of textures.csv. [-]
    phases : dict of str to PhaseModel
        Phases by name. [-]

    Returns
    -------
    dict of str to float
        1 for an equant grain of the common size. [-]

    References
    ----------
    Derived: a flake of width d and thickness t has 1.5 t/d of the volume of a sphere of d.
    """
    sizes = _means((t.mineral, t.grain_size_um) for t in sample.textures)
    thickness = _means((t.mineral, t.thickness_um) for t in sample.textures)
    common = sorted(sizes.values())[len(sizes) // 2] if sizes else None
    volumes = {}
    for name, phase in phases.items():
        size = sizes.get(name, common)
        volume = (size / common) ** 3 if size and common else 1.0
        if phase.shape == "flake":
            flat = thickness.get(name)
            volume *= 1.5 * flat / size if flat and size else FLAKE_VOLUME
        volumes[name] = volume
    return volumes


def _means(given: Iterable[tuple[str, float | None]]) -> dict[str, float]:
    """Mean of what several rows say of a mineral, whatever their order."""
    values: dict[str, list[float]] = {}
    for name, value in given:
        if value:
            values.setdefault(name, []).append(value)
    return {name: sum(sorted(each)) / len(each) for name, each in values.items()}


@dataclass(frozen=True)
class Amounts:
    """Amount of each phase, by name, scaled so that the gammas sum to 100."""

    by_phase: dict[str, Amount]
    counted: bool
    """True when the bag's minerals were counted, not diffracted."""


def scaled(amounts: dict[str, Amount]) -> dict[str, Amount]:
    """Gammas scaled so that their means and the medians of the rest fill the bag.

    Parameters
    ----------
    amounts : dict of str to Amount
        Relative amounts by mass. [any]

    Returns
    -------
    dict of str to Amount
        The same with means in wt % of the bag. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    total = sum(a.mean for _, a in sorted(amounts.items()) if a.kind in FOUND)
    if total <= 0:
        return dict(amounts)
    return {
        name: replace(a, mean=100.0 * a.mean / total) if a.kind in FOUND else a
        for name, a in amounts.items()
    }


def bag_amounts(sample: Sample, phases: dict[str, PhaseModel]) -> Amounts:
    """Amounts of the phases of the bag from all rows of minerals.csv.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    phases : dict of str to PhaseModel
        Phases by name. [-]

    Returns
    -------
    Amounts
        One amount a phase. Classes are added up by their mass, and a fraction by its share of
        the bag; where two kinds of row speak of one phase the more certain one speaks. [wt %]

    References
    ----------
    Weighted sums of independent amounts; choosing the surer one is common practice, no source.
    """
    volumes = grain_volumes(sample, phases)
    groups = _groups(sample)
    bag = _in_wt_pct(groups.pop((None, None, None), []), phases, volumes)
    counted = any(method_of(row) == "count" for row in sample.minerals)
    parts: dict[str, list[tuple[float, Amount]]] = {}
    order = sorted(groups, key=str)  # whatever the order of the sheet, to the last digit
    covered = sum(_class_share(sample, key[0], key[1]) for key in order if key[2] is None)
    for key in order:
        share = _class_share(sample, key[0], key[1])
        if key[2] is None:
            share /= covered if covered > 0 else 1.0
        else:
            share = _fraction_share(sample, key, share)
        for name, amount in _in_wt_pct(groups[key], phases, volumes).items():
            hosts = key[2] is not None and phases[name].role == "host" and name in bag
            if not hosts:
                parts.setdefault(name, []).append((share, amount))
    for name, listed in parts.items():
        total = _added(listed)
        if name not in bag or _surer(total, bag[name]):
            bag[name] = total
    return Amounts(bag if only_fractions(sample.minerals) else scaled(bag), counted)


def _groups(
    sample: Sample,
) -> dict[tuple[float | None, float | None, str | None], list[MineralAmount]]:
    groups: dict[tuple[float | None, float | None, str | None], list[MineralAmount]] = {}
    for row in sample.minerals:
        groups.setdefault((row.passing_um, row.retained_um, row.fraction), []).append(row)
    return groups


def _in_wt_pct(
    rows: list[MineralAmount], phases: dict[str, PhaseModel], volumes: dict[str, float]
) -> dict[str, Amount]:
    """Amounts of one list; limits of volumes and counts follow the scale of the gammas there."""
    amounts = {r.mineral: amount_of(r, phases[r.mineral], volumes[r.mineral]) for r in rows}
    total = sum(a.mean for _, a in sorted(amounts.items()) if a.kind in FOUND)
    if total > 0:
        for name in {row.mineral for row in rows if row.basis != "mass_pct"}:
            amounts[name] = replace(amounts[name], limit=amounts[name].limit * (100.0 / total))
    return scaled(amounts)


def _class_share(sample: Sample, passing: float | None, retained: float | None) -> float:
    if passing is None:
        return 1.0
    tops = np.array([row.passing_um for row in sample.sieves])
    bottoms = np.array([row.retained_um for row in sample.sieves])
    within = inside(tops, bottoms, passing, retained or 0.0)
    shares = [sample.sieves[place].mass_pct / 100.0 for place in np.flatnonzero(within)]
    return sum(sorted(shares)) if shares else 1.0


def _fraction_share(
    sample: Sample, key: tuple[float | None, float | None, str | None], share: float
) -> float:
    for row in sample.fractions:
        same = row.passing_um == key[0] and row.retained_um == key[1]
        if row.fraction == key[2] and (same or key[0] is None):
            return share * row.mass_pct / 100.0
    return share


def _added(listed: list[tuple[float, Amount]]) -> Amount:
    """Sum of amounts in parts of the bag, as one gamma (or a limit when all are limits)."""
    found = [(share, a) for share, a in listed if a.kind in FOUND]
    if not found:
        share_limit = sum(share * a.limit for share, a in listed)
        return replace(listed[0][1], limit=share_limit)
    mean = sum(share * a.mean for share, a in found)
    variance = sum((share * a.sd) ** 2 for share, a in found)
    kind = found[0][1].kind
    shape = mean * mean / variance if variance > 0 else 1e8
    return Amount(kind, mean=mean, shape=shape, text="; ".join(a.text for _, a in found))


def _surer(a: Amount, b: Amount) -> bool:
    """True when a says more than b."""
    if a.kind not in FOUND:
        return False
    if b.kind not in FOUND:
        return True
    return a.sd < b.sd
