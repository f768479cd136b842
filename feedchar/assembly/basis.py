"""What the answer rests on: the assay as used, and the assumptions that decide."""

from __future__ import annotations

from feedchar.chemistry.assay import assay_sd
from feedchar.field.setting import Setting
from feedchar.results import Basis, MeasuredOxide
from feedchar.results.taught import TestsTaught
from feedchar.sample.records import Sample


def measured_assay(sample: Sample) -> dict[str, MeasuredOxide]:
    """The head assay with the standard deviations that the fit used.

    Parameters
    ----------
    sample : Sample
        What was measured. [wt %]

    Returns
    -------
    dict of str to MeasuredOxide
        By oxide. [wt %]
    """
    return {
        oxide: MeasuredOxide(given.value, assay_sd(oxide, given), given.below_detection)
        for oxide, given in sorted(sample.assay.items())
    }


def basis_of(
    sample: Sample, setting: Setting, calibrated: bool, taught: TestsTaught | None = None
) -> Basis:
    """Whether feed and separation were measured, and what was assumed instead.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    setting : Setting
        The machine. [-]
    calibrated : bool
        Whether the machine's parameters come from tests. [-]
    taught : TestsTaught or None
        What the tests of this sample taught. [-]

    Returns
    -------
    Basis
        Sentences for the reader, the weightiest first. [-]
    """
    assumed = []
    if not sample.sieves:
        assumed.append(
            "No sieves: sizes taken as log-normal, d50 200 um, ln-sd 0.5, 45 to 500 um (guess)."
        )
    if not sample.minerals:
        assumed.append("No minerals: a list of likely ones was fitted to the assay alone.")
    if "Fe2O3" not in sample.assay:
        assumed.append(
            "Iron not assayed: it follows from the minerals and a guess of what is unseen."
        )
    if not any(row.share_pct is not None or row.grain_size_um for row in sample.textures):
        share = "15 %" if sample.origin == "crushed rock" else "5 %"
        assumed.append(
            f"No textures: {share} of each dark mineral taken as joined to pale grains (guess)."
        )
    if sample.origin is None:
        assumed.append(
            "No origin given: iron that no method has named may be much or little (guess)."
        )
    if taught is not None:
        assumed.append(
            f"{len(taught.tests)} of the sample's tests narrowed feed and machine; model and "
            f"machine taken to agree within {100.0 * taught.discrepancy_ln:.0f} % (guess), which "
            "is counted in."
        )
    elif not calibrated:
        assumed.append(
            "Machine not calibrated: 3 % of grains missed, 1 % of sand carried, adhesion 10 nN "
            "(guesses, drawn with their spread)."
        )
    if sample.roll_feed_moisture_pct is None:
        assumed.append("Roll feed taken as dry (below 0.1 % moisture), one grain deep.")
    if setting.treated_passing_um is None and not setting.treated_retained_um:
        assumed.append("The whole bag goes to the machine, fines included.")
    return Basis(
        feed="assayed" if "Fe2O3" in sample.assay else "not assayed",
        separation="tested" if sample.tests else "not tested",
        assumptions_that_decide=tuple(assumed),
    )
