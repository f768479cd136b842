"""Phases taken for granted when nobody looked: an assay alone, or sinks without the rest."""

from __future__ import annotations

from feedchar.chemistry.mineral_trials import Amount
from feedchar.sample.records import MineralAmount, Sample

_SAND = {
    "quartz": 70.0, "k-feldspar": 8.0, "albite": 5.0, "oligoclase": 5.0, "kaolinite": 3.0,
    "muscovite": 2.0, "calcite": 0.5, "biotite": 0.5, "hornblende": 0.3, "ilmenite": 0.2,
    "goethite": 0.2, "rutile": 0.1, "hematite": 0.1, "zircon": 0.05, "apatite": 0.1,
}  # fmt: skip
_ROCK = {
    "quartz": 30.0, "k-feldspar": 25.0, "albite": 15.0, "oligoclase": 15.0, "muscovite": 4.0,
    "biotite": 5.0, "hornblende": 1.0, "kaolinite": 1.0, "almandine": 0.3, "ilmenite": 0.4,
    "magnetite": 0.3, "apatite": 0.3, "titanite": 0.3, "calcite": 0.3, "zircon": 0.05,
}  # fmt: skip
_PEGMATITE = {
    "quartz": 28.0, "k-feldspar": 32.0, "albite": 28.0, "oligoclase": 4.0, "muscovite": 5.0,
    "biotite": 0.5, "kaolinite": 1.0, "almandine": 0.3, "schorl": 0.5, "apatite": 0.3,
    "magnetite": 0.1,
}  # fmt: skip
_SYENITE = {
    "nepheline": 22.0, "k-feldspar": 28.0, "albite": 42.0, "muscovite": 2.0, "biotite": 1.5,
    "hornblende": 1.0, "aegirine": 0.7, "magnetite": 0.5, "ilmenite": 0.2, "calcite": 0.5,
    "apatite": 0.2, "zircon": 0.05,
}  # fmt: skip
_LISTS = {
    "granite": _ROCK, "gneiss or schist": _ROCK, "pegmatite": _PEGMATITE, "syenite": _SYENITE,
    "sand": _SAND,
}  # fmt: skip
_SILICA_WITHOUT_NEPHELINE = 63.5
"""A syenite richer in silica than this carries quartz, not nepheline. [wt %]"""


def assumed_minerals(sample: Sample) -> dict[str, Amount]:
    """Phases and rough amounts for a bag that only has an assay.

    Parameters
    ----------
    sample : Sample
        For its origin, rock and silica. [-]

    Returns
    -------
    dict of str to Amount
        Exponential amounts (sd as large as the mean), so that the assay decides. [wt %]

    References
    ----------
    Common practice, no source; the amounts are guesses.
    """
    table = _LISTS.get(sample.rock or "")
    if table is None:
        table = _ROCK if sample.origin == "crushed rock" else _SAND
    silica = sample.assay.get("SiO2")
    if table is _SYENITE and silica is not None and silica.value > _SILICA_WITHOUT_NEPHELINE:
        table = {("quartz" if name == "nepheline" else name): v for name, v in table.items()}
    return {
        name: Amount("assumed", mean=mean, shape=1.0, text=f"{name} assumed")
        for name, mean in table.items()
    }


def only_fractions(minerals: tuple[MineralAmount, ...]) -> bool:
    """True when minerals are listed for separated fractions and never for the bag or a class.

    Parameters
    ----------
    minerals : tuple of MineralAmount
        Rows of minerals.csv. [-]

    Returns
    -------
    bool
        Whether the rest of the bag is unknown. [-]

    References
    ----------
    By definition of the records of this room.
    """
    return bool(minerals) and all(row.fraction is not None for row in minerals)
