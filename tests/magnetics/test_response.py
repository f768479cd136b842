"""The magnetic character of particle classes: by mass, riders with their carrier, warm and cold."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from feedchar.chemistry.mineralogy import OXIDES, Agreement, Mineralogy, PhaseModel
from feedchar.errors import SettingError
from feedchar.magnetics.moment import CANTED, FERRIMAGNETIC, NO_ORDER
from feedchar.magnetics.response import grains_of
from feedchar.particles.classes import FORMS, ParticleClasses, SizeClasses

NOTHING = np.zeros(len(OXIDES))


def phase(name, density, chi, order="none", moment=0.0, spread=0.3) -> PhaseModel:
    return PhaseModel(
        name=name,
        role="host",
        density_kg_m3=density,
        shape="equant",
        order=order,
        status="typical",
        source="project_memory",
        iron_low_wt_pct=0.0,
        iron_high_wt_pct=0.0,
        iron_typical_wt_pct=0.0,
        oxides_low_wt_pct=NOTHING,
        oxides_high_wt_pct=NOTHING,
        susceptibility_m3_kg=chi,
        grain_ln_sd=spread,
        saturation_moment_A_m2_kg=moment,
    )


PHASES = (
    phase("biotite", 3000.0, 5e-7, spread=0.25),
    phase("hematite", 5276.0, 2.8e-7, "canted", 0.4, spread=0.2),
    phase("maghemite", 5074.0, 0.0, "ferrimagnetic", 74.0),
    phase("magnetite", 5201.0, 0.0, "ferrimagnetic", 92.0),
    phase("quartz", 2650.0, -6e-9),
)
NAMES = tuple(model.name for model in PHASES)


def mineralogy(trials: int = 3) -> Mineralogy:
    """Susceptibilities that differ from trial to trial, the rest empty."""
    chi = np.array([model.susceptibility_m3_kg for model in PHASES])
    scale = 1.0 + 0.1 * np.arange(trials)[:, None]
    share = np.full((trials, len(PHASES)), 1.0 / len(PHASES))
    return Mineralogy(
        phases=PHASES,
        mass_fraction=share,
        size_share=np.ones((1, len(PHASES), 1)),
        iron_wt_pct=np.zeros_like(share),
        oxides_wt_pct=np.zeros((trials, len(PHASES), len(OXIDES))),
        susceptibility_m3_kg=chi * scale,
        predicted_wt_pct=np.zeros((trials, len(OXIDES))),
        reconciled_wt_pct=np.zeros((trials, len(OXIDES))),
        unseen_form_share=np.full((trials, 3), 1 / 3),
        agreement=Agreement(None, 0, None, {}),
        has_assay=False,
        assay_needed=False,
        data_disagree=False,
    )


def classes(*grains: tuple[str, str | None, float], carriers: list[int] | None = None):
    """Classes of (mineral, host, grade), all of one size."""
    count = len(grains)
    return ParticleClasses(
        phase_names=NAMES,
        sizes=SizeClasses(np.array([300.0]), np.array([150.0])),
        mineral=np.array([NAMES.index(grain[0]) for grain in grains]),
        host=np.array([-1 if grain[1] is None else NAMES.index(grain[1]) for grain in grains]),
        form=np.full(count, FORMS.index("free")),
        size=np.zeros(count, dtype=np.intp),
        grade=np.array([grain[2] for grain in grains]),
        carrier=np.array(carriers if carriers is not None else range(count)),
        mass=np.full((1, count), 1.0 / count),
        thickness_ratio=np.ones(count),
    )


def test_a_free_grain_has_the_character_of_its_mineral_in_every_trial():
    found = grains_of(classes(("biotite", None, 1.0), ("quartz", None, 1.0)), mineralogy())
    assert found.susceptibility_m3_kg[:, 0] == pytest.approx(5e-7 * np.array([1.0, 1.1, 1.2]))
    assert found.density_kg_m3 == pytest.approx([3000.0, 2650.0])
    assert found.grain_ln_sd == pytest.approx([0.25, 0.3])
    assert list(found.order) == [NO_ORDER, NO_ORDER]
    assert found.moment_A_m2_kg.shape == (3, 2)


def test_a_joined_grain_adds_up_by_mass():
    # composite_grain.csv: 10 vol % biotite in quartz, computed by hand.
    path = Path(__file__).parents[1] / "published" / "data" / "composite_grain.csv"
    with path.open(encoding="utf-8", newline="") as file:
        row = next(csv.DictReader(file))
    grade = float(row["expected_mass_fraction"])
    found = grains_of(classes(("biotite", "quartz", grade)), mineralogy(1))
    chi, density = found.susceptibility_m3_kg[0, 0], found.density_kg_m3[0]
    assert chi == pytest.approx(float(row["expected_mass_susceptibility_m3_kg"]), rel=2e-3)
    assert density == pytest.approx(float(row["expected_density_kg_m3"]), rel=2e-4)
    volume = float(row["expected_volume_susceptibility_si"])
    assert chi * density == pytest.approx(volume, rel=2e-3)


def test_a_joined_grain_goes_from_its_host_to_its_mineral_as_the_grade_rises():
    ends = classes(
        ("hematite", "quartz", 0.0), ("quartz", None, 1.0),
        ("hematite", "quartz", 1.0), ("hematite", None, 1.0),
    )  # fmt: skip
    found = grains_of(ends, mineralogy())
    for low, high in ((0, 1), (2, 3)):
        same = found.susceptibility_m3_kg[:, low]
        assert same == pytest.approx(found.susceptibility_m3_kg[:, high])
        assert found.moment_A_m2_kg[0, low] == found.moment_A_m2_kg[0, high]
        assert found.order[low] == found.order[high]
        assert found.grain_ln_sd[low] == pytest.approx(found.grain_ln_sd[high])


def test_a_trace_of_magnetite_outweighs_a_fifth_of_iron_in_the_silicate():
    # 0.1 wt % magnetite at 1 T: 1.16e-7; 20 wt % Fe2+: 5.0e-7; at 0.2 T the trace is ahead.
    found = grains_of(classes(("magnetite", "quartz", 1e-3)), mineralogy(1))
    assert found.moment_A_m2_kg[0, 0] == pytest.approx(0.092)
    assert found.order[0] == FERRIMAGNETIC
    assert found.saturation_field_tesla[0] == 0.0  # magnetite's own measured curve


def test_what_rides_on_a_grain_answers_as_that_grain_does():
    pair = classes(("quartz", None, 1.0), ("hematite", "quartz", 1.0), carriers=[0, 0])
    found = grains_of(pair, mineralogy())
    assert found.susceptibility_m3_kg[:, 1] == pytest.approx(found.susceptibility_m3_kg[:, 0])
    assert found.moment_A_m2_kg[0, 1] == 0.0
    assert found.density_kg_m3[1] == 2650.0


def test_kinds_of_order_are_told_apart():
    found = grains_of(
        classes(("hematite", None, 1.0), ("maghemite", "quartz", 0.1), ("biotite", "quartz", 0.5)),
        mineralogy(1),
    )
    assert list(found.order) == [CANTED, FERRIMAGNETIC, NO_ORDER]
    # mu0 Ms density / 3 of pure maghemite (minerals.csv: 0.157 T), whatever the grade.
    assert found.saturation_field_tesla == pytest.approx([0.0, 0.157, 0.0], rel=0.01)


def test_the_spread_of_a_joined_grain_lies_between_nothing_and_that_of_its_parts():
    grades = np.linspace(0.01, 0.99, 12)
    found = grains_of(classes(*(("biotite", "quartz", g) for g in grades)), mineralogy(1))
    assert np.all(found.grain_ln_sd > 0.0)
    assert np.all(found.grain_ln_sd <= 0.3 + 1e-12)
    assert found.grain_ln_sd[-1] == pytest.approx(0.25, rel=0.02)


def test_warm_grains_are_pulled_less_but_hematite_keeps_its_moment():
    both = classes(("biotite", None, 1.0), ("hematite", None, 1.0), ("quartz", None, 1.0))
    cold, warm = (grains_of(both, mineralogy(), celsius) for celsius in (20.0, 80.0))
    change = warm.susceptibility_m3_kg / cold.susceptibility_m3_kg
    assert change[0, 0] == pytest.approx(293.15 / 353.15, abs=0.003)
    assert change[0, 1] == pytest.approx(1.0)
    assert change[0, 2] == pytest.approx(1.0)
    with pytest.raises(SettingError, match="temperature"):
        grains_of(both, mineralogy(), 900.0)


def test_the_order_of_the_phases_in_the_classes_does_not_matter():
    shuffled = ParticleClasses(
        **(
            vars(classes(("biotite", None, 1.0)))
            | {"phase_names": NAMES[::-1], "mineral": np.array([NAMES[::-1].index("biotite")])}
        )
    )
    found = grains_of(shuffled, mineralogy())
    assert found.susceptibility_m3_kg[0, 0] == 5e-7
