"""Published models of joined grains against their tables."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from feedchar.particles.composite_grain import composite_density, mass_grade
from feedchar.particles.free_share import gaudin_free_share, king_free_share, wiegel_li_free_share

DATA = Path(__file__).parent / "data"


def rows(name):
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def free_share(row):
    """gaudin_1939, wiegel_li_1967 and king_1979, answers computed from the recalled forms."""
    if row["model"] == "gaudin":
        return gaudin_free_share(float(row["size_ratio_K"]))
    if row["model"] == "wiegel_li":
        return wiegel_li_free_share(
            float(row["size_ratio_K"]), float(row["mineral_volume_fraction"])
        )
    assert row["model"] == "king_exponential"
    return king_free_share(float(row["size_over_intercept"]))


def test_the_table_of_free_shares_is_whole():
    models = [row["model"] for row in rows("liberation.csv")]
    assert [models.count(m) for m in ("gaudin", "wiegel_li", "king_exponential")] == [9, 35, 8]


@pytest.mark.parametrize(
    "row", rows("liberation.csv"), ids=lambda r: "-".join(list(r.values())[:4]).strip("-")
)
def test_free_share_is_the_published_one(row):
    assert float(free_share(row)) == pytest.approx(
        float(row["expected_liberated_fraction"]), abs=0.0006
    )


@pytest.mark.parametrize("row", rows("composite_grain.csv"), ids=lambda r: r["case"])
def test_a_joined_grain_adds_by_mass_and_by_volume_to_the_same_susceptibility(row):
    """computed_here: two roads to one place; mass susceptibility by mass, volume's by volume."""
    volume = float(row["mineral_volume_fraction"])
    density = [float(row["mineral_density_kg_m3"]), float(row["host_density_kg_m3"])]
    chi = [float(row["mineral_susceptibility_m3_kg"]), float(row["host_susceptibility_m3_kg"])]
    grade = float(mass_grade(volume, *density))
    whole = float(composite_density(volume, *density))
    by_mass = grade * chi[0] + (1 - grade) * chi[1]
    kappa = volume * density[0] * chi[0] + (1 - volume) * density[1] * chi[1]
    assert grade == pytest.approx(float(row["expected_mass_fraction"]), abs=5e-5)
    assert whole == pytest.approx(float(row["expected_density_kg_m3"]), rel=1e-12)
    assert by_mass == pytest.approx(float(row["expected_mass_susceptibility_m3_kg"]), abs=5e-11)
    assert kappa == pytest.approx(float(row["expected_volume_susceptibility_si"]), abs=5e-8)
    assert kappa / whole == pytest.approx(by_mass, rel=1e-12)
