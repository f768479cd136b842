"""Every kind of bad input, every command, every kind of file: 0 or 2, one message, no harm."""

from __future__ import annotations

import pytest
from nasty_bags import COMMANDS, REFUSED, TAKEN, Case, listing, run
from nasty_learned import LEARNED
from nasty_others import OTHERS
from nasty_samples import SAMPLES

CASES = [*SAMPLES, *OTHERS, *LEARNED]


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_bad_input_ends_in_one_message_and_harms_nothing(case: Case, tmp_path, monkeypatch) -> None:
    for name, value in case.surroundings:
        monkeypatch.setenv(name, value)
    arguments = case.make(tmp_path)
    before = listing(tmp_path)
    outcome = run(*arguments, compute=case.compute)
    told = f"{arguments[0]} ended with {outcome.code}: {outcome.err or outcome.out[-300:]}"
    assert outcome.code in (0, 2), told
    assert "Traceback" not in outcome.err + outcome.out
    if case.ends == REFUSED:
        assert outcome.code == 2, told
    if case.ends == TAKEN:
        assert outcome.taken, told
    if outcome.code == 2:
        assert listing(tmp_path) == before, "something was written"
        lines = outcome.err.splitlines()
        assert outcome.out == ""
        assert len(lines) == 1, told
        assert all(line.isprintable() for line in lines), told
        assert len(lines[-1]) < 700, told
        for word in case.says:
            assert word in lines[-1], told


def test_the_corpus_leaves_no_kind_of_trouble_and_no_command_out() -> None:
    assert len(CASES) >= 250
    assert len({case.name for case in CASES}) == len(CASES)
    assert {case.number for case in CASES} == set(range(1, 26))


def test_every_command_meets_bad_input(tmp_path) -> None:
    met: set[str] = set()
    for number, case in enumerate(CASES[::7]):
        folder = tmp_path / str(number)
        folder.mkdir()
        met.add(case.make(folder)[0])
    assert met == set(COMMANDS)
