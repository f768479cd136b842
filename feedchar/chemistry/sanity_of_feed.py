"""The sanity rules that a bag can be held against: 2 to 10, 12 and 13."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry import sanity, sanity_of_assay, sanity_of_magnets
from feedchar.chemistry.assay_weight import assay_sd
from feedchar.chemistry.diagnosis import STRONG, Diagnosis
from feedchar.chemistry.head import class_sums
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.sanity_of_tests import adds_back, mass_lost
from feedchar.chemistry.system import FOUND
from feedchar.constants import FE2O3_PER_FE
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.records import Note, OxideValue, Sample

_BIOTITE = ("annite", "biotite", "phlogopite", "siderophyllite")
_MUSCOVITE = ("illite", "muscovite", "phengite")
_FERROUS = ("annite", "biotite", "hornblende", "actinolite", "almandine", "magnetite", "siderite")


def feed_notes(
    sample: Sample, feed: Feed, assay: dict[str, OxideValue], diagnosis: Diagnosis
) -> tuple[Note, ...]:
    """All notes of the sanity rules on a bag.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    feed : Feed
        Phases with listed amounts. [-]
    assay : dict of str to OxideValue
        Head assay that the fit uses. [wt %]
    diagnosis : Diagnosis
        What small treatments found. [wt %]

    Returns
    -------
    tuple of Note
        Those that tripped, in the order of the rules. [-]

    References
    ----------
    Common practice, no source.
    """
    listed = _Listed(feed)
    notes: list[Note | None] = [
        *_against_assay(listed, assay),
        *_of_assay(sample, assay),
        _magnetite(sample, listed),
        _magnet(sample, diagnosis),
        *_masses(sample),
    ]
    return tuple(note for note in notes if note is not None)


class _Listed:
    """Listed amounts with their sd, in wt % of the bag."""

    def __init__(self, feed: Feed) -> None:
        self.feed = feed
        self.rows = {
            name: (amount.mean, amount.sd, ingredient)
            for name, amount, ingredient in zip(
                feed.names, feed.amounts, feed.ingredients, strict=True
            )
            if amount.kind in FOUND
        }

    def amount(self, *names: str) -> float:
        return sum(self.rows[name][0] for name in names if name in self.rows)

    def sd(self, weights: dict[str, float]) -> float:
        squares = [(w * self.rows[n][1]) ** 2 for n, w in weights.items() if n in self.rows]
        return float(np.sqrt(sum(squares)))


def _found(assay: dict[str, OxideValue], oxide: str) -> tuple[float, float] | None:
    value = assay.get(oxide)
    if value is None or value.below_detection:
        return None
    return value.value, assay_sd(oxide, value)


def _most(assay: dict[str, OxideValue], oxide: str) -> tuple[tuple[float, float], bool] | None:
    """The most that an assay allows with its sd, and whether it is the upper end of a `<`."""
    value = assay.get(oxide)
    if value is None:
        return None
    return (value.value, assay_sd(oxide, value)), value.below_detection


def _against_assay(listed: _Listed, assay: dict[str, OxideValue]) -> list[Note | None]:
    notes: list[Note | None] = []
    iron = _most(assay, "Fe2O3")
    if iron is not None:
        share = FE2O3_PER_FE / 100.0
        low = sum(w * i.iron.low_wt_pct * share for w, _, i in listed.rows.values())
        high = sum(w * i.iron.high_wt_pct * share for w, _, i in listed.rows.values())
        weights = {n: i.iron.low_wt_pct * share for n, (_, _, i) in listed.rows.items()}
        notes.append(
            sanity.iron_of_minerals(*iron[0], low, high, listed.sd(weights), below=iron[1])
        )
    titania = _most(assay, "TiO2")
    if titania is not None:
        ilmenite = listed.amount("ilmenite")
        sd = listed.sd({"ilmenite": 1.0})
        notes.append(sanity.ilmenite_titania(ilmenite, sd, *titania[0], below=titania[1]))
    potash = _most(assay, "K2O")
    if potash is not None:
        weights = dict.fromkeys(_BIOTITE, 0.101) | dict.fromkeys(("muscovite", "phengite"), 0.117)
        micas = listed.amount(*_BIOTITE), listed.amount("muscovite", "phengite")
        notes.append(sanity.mica_potash(*micas, listed.sd(weights), *potash[0], below=potash[1]))
    loi = _found(assay, "LOI")
    if loi is not None:
        weights = dict.fromkeys((*_BIOTITE, *_MUSCOVITE), 0.04)
        weights |= {"kaolinite": 0.14, "goethite": 0.10, "calcite": 0.44}
        ferrous = sum(
            listed.rows[name][0] * listed.rows[name][2].iron.typical_wt_pct * 1.286 / 100.0
            for name in _FERROUS
            if name in listed.rows
        )
        note = sanity.loss_on_ignition(
            listed.amount(*_BIOTITE, *_MUSCOVITE),
            listed.amount("kaolinite"),
            listed.amount("goethite"),
            listed.amount("calcite"),
            ferrous,
            listed.sd(weights),
            *loi,
        )
        notes.append(note)
    return notes


def _of_assay(sample: Sample, assay: dict[str, OxideValue]) -> list[Note | None]:
    notes: list[Note | None] = []
    needed = [_found(assay, oxide) for oxide in ("Al2O3", "K2O", "Na2O", "CaO")]
    if all(value is not None for value in needed):
        values = [value for value in needed if value is not None]
        factors = (1.0, 1.082, 1.645, 1.818)
        sd = float(np.sqrt(sum((f * v[1]) ** 2 for f, v in zip(factors, values, strict=True))))
        alumina, potash, soda, lime = (value[0] for value in values)
        notes.append(sanity_of_assay.alumina_balance(alumina, potash, soda, lime, sd))
    if all(oxide in sample.assay for oxide in ("SiO2", "Al2O3", "Fe2O3")):
        solid = [v.value for n, v in sorted(sample.assay.items()) if n != "LOI"]
        loi = sample.assay.get("LOI")
        notes.append(
            sanity_of_assay.oxide_total(sum(solid), loi.value if loi is not None else None)
        )
    by_laboratory: dict[str, list[float]] = {}
    for item in sample.determinations:
        whole = item.passing_um is None and not item.below_detection
        if item.oxide == "Fe2O3" and whole and item.laboratory:
            by_laboratory.setdefault(item.laboratory, []).append(item.value)
    means = sorted(sum(values) / len(values) for values in by_laboratory.values())
    if len(means) > 1:
        notes.append(sanity_of_assay.laboratory_ratio(means[-1], means[0]))
    return notes


def _magnetite(sample: Sample, listed: _Listed) -> Note | None:
    bulk = sample.susceptibility
    strong = any(name in listed.rows for name in STRONG)
    if bulk is None or strong or (bulk.flux_density_tesla or 0.0) > 0.1:
        return None
    total, square = 0.0, 0.0
    for amount, sd, ingredient in listed.rows.values():
        model = ingredient.model
        moved = model.iron_typical_wt_pct - model.susceptibility_iron_wt_pct
        chi = model.susceptibility_m3_kg + moved * model.susceptibility_per_iron_m3_kg
        if model.order == "canted":
            chi += model.saturation_moment_A_m2_kg / 1.2e5  # at the top of its low-field range
        total += amount / 100.0 * chi
        square += (sd / 100.0 * chi) ** 2 + (amount / 100.0 * chi * 0.2) ** 2
    sd_bulk = bulk.sd_m3_kg or 0.05 * abs(bulk.mass_susceptibility_m3_kg) + 5e-10
    return sanity_of_magnets.unlisted_magnetite(
        bulk.mass_susceptibility_m3_kg, sd_bulk, total, float(np.sqrt(square))
    )


def _magnet(sample: Sample, diagnosis: Diagnosis) -> Note | None:
    if diagnosis.hand_magnet_wt_pct is None:
        return None
    listed = any(row.mineral in STRONG and row.value > 0 for row in sample.minerals)
    return sanity_of_magnets.hand_magnet(diagnosis.hand_magnet_wt_pct, listed)


def _masses(sample: Sample) -> list[Note | None]:
    notes: list[Note | None] = []
    sieving = sample.sieving
    if sieving is not None and sieving.start_g and sieving.recovered_g is not None:
        notes.append(mass_lost(sieving.start_g, sieving.recovered_g, "sieving"))
    sums = class_sums(sample)
    for oxide in OXIDES[:-1]:
        head = sample.assay.get(oxide)
        if oxide in sums and head is not None and not head.below_detection:
            sd = head.sd or default_assay_sd(oxide, head.value)
            notes.append(adds_back(*sums[oxide], head.value, sd, f"the {oxide} of the classes"))
    return notes
