"""Trade units to SI and back; used at the edges only (readers, command line, report)."""

from __future__ import annotations

from math import pi

M_PER_UM = 1e-6
M_PER_MM = 1e-3
KILOGAUSS_PER_TESLA = 10.0
PPM_PER_WT_PCT = 1e4
KG_S_PER_T_H = 1000.0 / 3600.0

M3_KG_PER_CM3_G = 4e-3 * pi
"""Mass susceptibility, cgs cm3/g (emu/(g Oe)) to SI: 4 pi / 1000. [m³ kg⁻¹ per cm³ g⁻¹]"""

SI_PER_CGS_VOLUME = 4 * pi
"""Volume susceptibility, cgs emu/(cm3 Oe) to SI. [-]"""
