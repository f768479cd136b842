"""Physical constants and the fixed surroundings of every calculation, each named once.

Molar masses of minerals come from pymatgen behind `chemistry.formula`; here stand only those by
which the trade turns one way of stating iron into another.
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

ZERO_CELSIUS_K = 273.15
"""Offset between the two temperature scales. [K]"""

REFERENCE_TEMPERATURE_C = 20.0
"""Temperature of the susceptibilities and remanences in the tables. [°C]"""

REFERENCE_TEMPERATURE_K = ZERO_CELSIUS_K + REFERENCE_TEMPERATURE_C
"""The same. [K]"""

FE_G_MOL = 55.845
"""Molar mass of iron, conventional value of IUPAC. [g mol⁻¹]"""

FEO_G_MOL = 71.844
"""Molar mass of FeO. [g mol⁻¹]"""

FE2O3_G_MOL = 159.688
"""Molar mass of Fe2O3. [g mol⁻¹]"""

MNO_G_MOL = 70.937
"""Molar mass of MnO. [g mol⁻¹]"""

FE2O3_PER_FE = FE2O3_G_MOL / (2 * FE_G_MOL)
"""Fe expressed as Fe2O3. [-]"""

FE2O3_PER_FEO = FE2O3_G_MOL / (2 * FEO_G_MOL)
"""FeO expressed as Fe2O3. [-]"""

FE_PER_FEO = FE_G_MOL / FEO_G_MOL
"""FeO expressed as Fe. [-]"""
