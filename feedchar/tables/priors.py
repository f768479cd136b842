"""Iron of a mineral by the rock it comes from: quantiles of published analyses."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from feedchar.constants import FE_PER_FEO
from feedchar.tables.read import read_table
from feedchar.tables.sources import status_of

SETTING_OF_ROCK = MappingProxyType(
    {
        "granite": "granite",
        "pegmatite": "pegmatite",
        "gneiss or schist": "gneiss/schist",
        "syenite": "syenite",
        "sand": "sand",
    }
)
"""From the key `rock` of a sample to the column `setting`."""

_ANALYSED_TOGETHER = {"riebeckite": "arfvedsonite-riebeckite"}


@dataclass(frozen=True)
class IronPrior:
    """One row of iron_priors.csv. All iron as FeO in wt % of the mineral."""

    mineral: str
    setting: str
    """granite | pegmatite | gneiss/schist | syenite | sand | mixed"""
    analyses: int
    samples: int
    FeO_total_wt_pct: tuple[float, float, float, float, float]
    """5, 25, 50, 75 and 95 % quantiles."""
    ferric_share: float | None
    """Fe3+ over all iron, typical. [-]"""
    MnO_wt_pct: float | None
    TiO2_wt_pct: float | None
    source: str
    """One key, or several separated by semicolons."""
    how_seen: str
    note: str

    @property
    def Fe_wt_pct(self) -> tuple[float, float, float, float, float]:
        """The same quantiles as the element. [wt %]"""
        a, b, c, d, e = (FE_PER_FEO * value for value in self.FeO_total_wt_pct)
        return a, b, c, d, e

    @property
    def status(self) -> str:
        """read | recalled | computed | guess"""
        return status_of(self.how_seen)


@lru_cache(maxsize=1)
def iron_priors() -> MappingProxyType[tuple[str, str], IronPrior]:
    """All priors by mineral and setting.

    Returns
    -------
    mapping of (mineral, setting) to IronPrior
        Names as the table has them; a few are no names of minerals.csv. [-]

    References
    ----------
    reference_tables/iron_priors.csv, source keys in every row.
    """
    quantiles = ("p05", "p25", "p50", "p75", "p95")
    priors = {}
    for row in read_table("iron_priors.csv"):
        a, b, c, d, e = (row.number(f"FeO_total_wt_pct_{name}") for name in quantiles)
        priors[row.text("mineral"), row.text("setting")] = IronPrior(
            mineral=row.text("mineral"),
            setting=row.text("setting"),
            analyses=int(row.number("n")),
            samples=int(row.number("n_samples")),
            FeO_total_wt_pct=(a, b, c, d, e),
            ferric_share=row.optional("fe3_share"),
            MnO_wt_pct=row.optional("MnO_p50"),
            TiO2_wt_pct=row.optional("TiO2_p50"),
            source=row.text("source_key"),
            how_seen=row.text("how_seen"),
            note=row.text("note"),
        )
    return MappingProxyType(priors)


def iron_prior(mineral: str, rock: str | None) -> IronPrior | None:
    """Prior of a mineral's iron for one kind of rock.

    Parameters
    ----------
    mineral : str
        Canonical name. [-]
    rock : str or None
        The key `rock` of a sample. [-]

    Returns
    -------
    IronPrior or None
        None where no analyses stand for this rock; the range of minerals.csv holds then. [-]

    References
    ----------
    reference_tables/iron_priors.csv.
    """
    if rock is None or rock not in SETTING_OF_ROCK:
        return None
    name = _ANALYSED_TOGETHER.get(mineral, mineral)
    return iron_priors().get((name, SETTING_OF_ROCK[rock]))
