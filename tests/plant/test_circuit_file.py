"""A circuit of one's own from a file."""

from __future__ import annotations

import pytest

from feedchar.errors import InputError
from feedchar.plant.circuit_file import read_circuit

GOOD = """\
name = "drum, then two rolls"
[steps.drum]
kind = "drum"
drum = "weak"
magnetics = "reject"
non_magnetics = "roll 1"
[steps."roll 1"]
kind = "roll"
belt_speed_m_s = 2
splitter_mm = 8
splitter_2_mm = 16
magnetics = "reject"
middlings = "roll 2"
non-magnetics = "product"
[steps."roll 2"]
kind = "roll"
magnetics = "reject"
non_magnetics = "product"
"""


def written(tmp_path, text):
    path = tmp_path / "circuit.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_circuit_is_read_as_written(tmp_path):
    circuit = read_circuit(written(tmp_path, GOOD))
    assert circuit.name == "drum, then two rolls"
    assert [step.kind for step in circuit.steps] == ["drum", "roll", "roll"]
    first = circuit.steps[1]
    assert first.machine.belt_speed_m_s == 2.0
    assert first.machine.splitter_m == pytest.approx(0.008)
    assert first.routes["non_magnetics"] == "product"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('name = "drum', "name = drum", "is not TOML"),
        ('kind = "drum"', 'kind = "mill"', "needs a kind"),
        ("splitter_mm = 8", 'splitter_mm = "8"', "wrong kind"),
        ("splitter_mm = 8", "spliter_mm = 8", "not known"),
        ('magnetics = "reject"', 'magnetics = "bin"', "which is no step"),
        ('name = "drum, then two rolls"', "speed = 2", "not known"),
        ("splitter_2_mm = 16\n", "", "needs a route"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(tmp_path, old, new, message):
    text = GOOD.replace(old, new, 1)
    assert text != GOOD
    with pytest.raises(InputError, match=message) as refused:
        read_circuit(written(tmp_path, text))
    assert "circuit.toml" in str(refused.value)
