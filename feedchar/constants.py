"""Physical constants and the fixed surroundings of every calculation, each named once.

Molar masses come from pymatgen behind `chemistry.formula`, not from here.
"""

from math import pi

VACUUM_PERMEABILITY_T_M_A = 4e-7 * pi
"""Magnetic constant, the value before 2019; CODATA 2018 differs by 5e-10 relative. [T m A⁻¹]"""

GRAVITY_M_S2 = 9.81
"""Standard gravity rounded as the trade does (ISO 80000-3 gives 9.80665). [m s⁻²]"""

AIR_DENSITY_KG_M3 = 1.204
"""Dry air at 20 °C and 101 325 Pa. [kg m⁻³]"""

AIR_VISCOSITY_PA_S = 1.81e-5
"""Dynamic viscosity of air at 20 °C. [Pa s]"""

REFERENCE_TEMPERATURE_K = 293.15
"""Temperature of the susceptibilities and remanences in the tables, 20 °C. [K]"""

ZERO_CELSIUS_K = 273.15
"""Offset between the two temperature scales. [K]"""
