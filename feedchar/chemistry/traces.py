"""Carriers of oxides that were assayed although no listed mineral holds them.

Diffraction misses what is below about half a per cent; a bead does not. Where an assay finds an
oxide that the listed minerals hardly supply, its commonest carrier is added as a mineral that was
looked for and not found.
"""

from __future__ import annotations

from feedchar.chemistry.assay_weight import assay_sd
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.oxides import COLUMN
from feedchar.sample.records import OxideValue

CARRIERS = {
    "TiO2": "rutile",
    "ZrO2": "zircon",
    "P2O5": "apatite",
    "Cr2O3": "chromite",
    "K2O": "k-feldspar",
    "Na2O": "albite",
    "MgO": "dolomite",
    "CaO": "calcite",
    "Al2O3": "kaolinite",
}
"""Oxide to the mineral that commonly holds a trace of it, in the order they are tried."""
DETECTION_DIFFRACTION, DETECTION_COUNT = 0.5, 0.1
_MISSING_SD = 3.0


def missing_carriers(
    assay: dict[str, OxideValue], most_wt_pct: Array, listed: frozenset[str], counted: bool
) -> dict[str, Amount]:
    """Minerals to add so that every assayed oxide has a carrier.

    Parameters
    ----------
    assay : dict of str to OxideValue
        Head assay. [wt %]
    most_wt_pct : array, shape (K,)
        The most that the listed minerals can supply, columns OXIDES. [wt %]
    listed : frozenset of str
        Names already listed. [-]
    counted : bool
        True when the minerals were counted. [-]

    Returns
    -------
    dict of str to Amount
        Mineral to its amount, below the detection limit. [wt %]

    References
    ----------
    Common practice, no source: an oxide counts as unexplained when more than 3 sd of it is
    missing.
    """
    limit = DETECTION_COUNT if counted else DETECTION_DIFFRACTION
    added: dict[str, Amount] = {}
    for oxide, mineral in CARRIERS.items():
        value = assay.get(oxide)
        if value is None or value.below_detection or mineral in listed:
            continue
        missing = value.value - float(most_wt_pct[COLUMN[oxide]])
        if missing > _MISSING_SD * assay_sd(oxide, value):
            text = f"{mineral} for the {oxide} that no listed mineral holds"
            added[mineral] = Amount("not found", limit=limit, text=text)
    return added
