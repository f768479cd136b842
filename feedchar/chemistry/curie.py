"""The paramagnetic law by which susceptibility follows the iron of a mineral."""

from __future__ import annotations

from feedchar.chemistry.mineralogy import Array

FE2_SLOPE = 25.2e-9
"""Mass susceptibility of 1 wt % Fe2+. [m³ kg⁻¹]"""
FE3_SLOPE = 33.4e-9
"""Mass susceptibility of 1 wt % Fe3+. [m³ kg⁻¹]"""
MN2_SLOPE = 33.8e-9
"""Mass susceptibility of 1 wt % Mn2+. [m³ kg⁻¹]"""
DIAMAGNETISM = -14.6e-6
"""Volume susceptibility of the lattice; divide by the density in kg/m3. [-]"""


def lattice_susceptibility(density_kg_m3: float) -> float:
    """Diamagnetic mass susceptibility of an iron-free lattice.

    Parameters
    ----------
    density_kg_m3 : float
        Density. [kg m⁻³]

    Returns
    -------
    float
        Mass susceptibility, negative. [m³ kg⁻¹]

    References
    ----------
    curie_model.
    """
    return DIAMAGNETISM / density_kg_m3


def law_susceptibility(ions_wt_pct: Array, density_kg_m3: float) -> float:
    """Mass susceptibility of a paramagnetic mineral at 20 °C from its ions.

    Parameters
    ----------
    ions_wt_pct : array, shape (3,)
        Fe2+, Fe3+, Mn2+. [wt % of the ion]
    density_kg_m3 : float
        Density. [kg m⁻³]

    Returns
    -------
    float
        Mass susceptibility. [m³ kg⁻¹]

    References
    ----------
    curie_model; void for ordered minerals and sulphides.
    """
    fe2, fe3, mn2 = (float(value) for value in ions_wt_pct)
    paramagnetic = FE2_SLOPE * fe2 + FE3_SLOPE * fe3 + MN2_SLOPE * mn2
    return paramagnetic + lattice_susceptibility(density_kg_m3)
