"""Every mineral as one frozen record: composition, density, shape, magnetism, role."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from feedchar.constants import FE2O3_G_MOL, FE_G_MOL, FEO_G_MOL, MNO_G_MOL
from feedchar.errors import InputError
from feedchar.tables.names import mineral_names, resolve_mineral
from feedchar.tables.read import Row, read_table
from feedchar.tables.susceptibility import (
    HIGH_FIELD,
    MASS,
    SATURATION,
    MagneticValue,
    preferred_values,
)

__all__ = ["Mineral", "mineral", "mineral_names", "minerals", "resolve_mineral"]

SHAPES = ("equant", "flake", "needle")
ORDERS = (
    "diamagnetic",
    "paramagnetic",
    "antiferromagnetic",
    "canted",
    "ferrimagnetic",
    "ferromagnetic",
)
ROLES = ("host", "removable", "stays")


@dataclass(frozen=True)
class Mineral:
    """One mineral with the preferred magnetic rows joined in."""

    mineral: str
    """Canonical name."""
    group: str
    is_generic: bool
    """True for a series, a mixture or a stand-in."""
    formula: str
    """Natural typical composition; its iron is `iron_typical_wt_pct` exactly."""
    end_member_formula: str
    molar_mass_g_mol: float
    ions: dict[str, float]
    """Paramagnetic ions as atoms per formula, such as {"Fe2+": 1.21}."""
    density_kg_m3: float
    density_low_kg_m3: float
    density_high_kg_m3: float
    density_source: str
    density_how_seen: str
    density_range_source: str
    shape: str
    """equant | flake | needle (general mineralogy, from memory)"""
    magnetic_order: str
    """One of ORDERS, at room temperature (general mineralogy, from memory)."""
    saturation_field_tesla: float | None
    """Flux density that saturates an equant grain of a strong magnet."""
    field_rule: str
    """How the moment follows the field, in words."""
    iron_low_wt_pct: float
    """5 % of natural grains."""
    iron_typical_wt_pct: float
    iron_high_wt_pct: float
    """95 % of natural grains."""
    iron_source: str
    """One key, or several separated by semicolons."""
    iron_how_seen: str
    note: str
    susceptibility: MagneticValue
    """Preferred mass susceptibility. Of ferrimagnets it holds below saturation only."""
    high_field: MagneticValue | None
    """Preferred linear part above saturation of the ordered moment."""
    saturation: MagneticValue | None
    """Preferred ordered moment at saturation. [A m2/kg]"""
    role: str
    """host | removable | stays"""
    marked_dark: bool
    """Seen as a dark speck whatever its iron."""
    is_refractory: bool
    """Does not melt into the glass in time."""
    grain_ln_sd: float
    """Grain-to-grain ln-sd of susceptibility. [-]"""
    role_how_seen: str

    @property
    def saturation_moment_A_m2_kg(self) -> float | None:
        """Ordered moment at saturation, None where there is none."""
        return self.saturation.typical if self.saturation else None

    @property
    def status(self) -> str:
        """Status of the preferred susceptibility: read | recalled | computed | guess."""
        return self.susceptibility.status

    @property
    def coloured_oxides_wt_pct(self) -> float:
        """FeO + Fe2O3 + MnO of the formula; iron without a listed ion counts as FeO. [wt %]"""
        per_ion = {"Fe2+": FEO_G_MOL, "Fe3+": FE2O3_G_MOL / 2, "Mn2+": MNO_G_MOL}
        listed = sum(per_ion.get(ion, 0.0) * atoms for ion, atoms in self.ions.items())
        oxides = 100 * listed / self.molar_mass_g_mol
        has_iron_ion = any(ion.startswith("Fe") for ion in self.ions)
        return oxides if has_iron_ion else oxides + FEO_G_MOL / FE_G_MOL * self.iron_typical_wt_pct

    @property
    def is_dark(self) -> bool:
        """More than 5 % coloured oxides, or marked dark."""
        return self.marked_dark or self.coloured_oxides_wt_pct > 5.0


@lru_cache(maxsize=1)
def minerals() -> MappingProxyType[str, Mineral]:
    """All minerals by canonical name.

    Returns
    -------
    mapping of str to Mineral
        Read-only, in the order of the table. [-]

    Raises
    ------
    InputError
        When a table lacks a value it must have.

    References
    ----------
    reference_tables/minerals.csv, susceptibility.csv and mineral_roles.csv, with a source key
    or the status of a guess in every row.
    """
    roles = {row.text("mineral"): row for row in read_table("mineral_roles.csv")}
    rows = read_table("minerals.csv")
    return MappingProxyType({row.text("mineral"): _mineral(row, roles) for row in rows})


def mineral(word: str) -> Mineral:
    """One mineral by any of its names.

    Parameters
    ----------
    word : str
        Name or alias. [-]

    Returns
    -------
    Mineral
        Its record. [-]

    Raises
    ------
    UnknownNameError
        For a group word or an unknown name.

    References
    ----------
    As `minerals`.
    """
    return minerals()[resolve_mineral(word)]


def _mineral(row: Row, roles: dict[str, Row]) -> Mineral:
    name = row.text("mineral")
    preferred = preferred_values()
    if name not in roles or (name, MASS) not in preferred:
        problem = f"{name} lacks a role or a preferred susceptibility"
        raise InputError(problem, file=row.file, row=row.row)
    role = roles[name]
    return Mineral(
        mineral=name,
        group=row.text("group"),
        is_generic=row.word("generic", "yes", "no") == "yes",
        formula=row.text("formula"),
        end_member_formula=row.text("end_member_formula"),
        molar_mass_g_mol=row.number("molar_mass_g_mol"),
        ions=_ions(row),
        density_kg_m3=row.number("density_kg_m3"),
        density_low_kg_m3=row.number("density_low_kg_m3"),
        density_high_kg_m3=row.number("density_high_kg_m3"),
        density_source=row.text("density_source"),
        density_how_seen=row.text("density_how_seen"),
        density_range_source=row.text("density_range_source"),
        shape=row.word("shape", *SHAPES),
        magnetic_order=row.word("magnetic_order", *ORDERS),
        saturation_field_tesla=row.optional("saturation_field_T"),
        field_rule=row.text("field_rule"),
        iron_low_wt_pct=row.number("iron_wt_pct_low"),
        iron_typical_wt_pct=row.number("iron_wt_pct_typical"),
        iron_high_wt_pct=row.number("iron_wt_pct_high"),
        iron_source=row.text("iron_source"),
        iron_how_seen=row.text("iron_how_seen"),
        note=row.text("note"),
        susceptibility=preferred[name, MASS],
        high_field=preferred.get((name, HIGH_FIELD)),
        saturation=preferred.get((name, SATURATION)),
        role=role.word("role", *ROLES),
        marked_dark=role.word("marked_dark", "yes", "no") == "yes",
        is_refractory=role.word("refractory", "yes", "no") == "yes",
        grain_ln_sd=role.number("grain_ln_sd"),
        role_how_seen=role.text("how_seen"),
    )


def _ions(row: Row) -> dict[str, float]:
    pairs = (part.split("=") for part in row.text("paramagnetic_ions").split(";") if part)
    return {ion: float(atoms) for ion, atoms in pairs}
