"""Records of the room are handed from step to step, so none may be changed on the way."""

from __future__ import annotations

import dataclasses
import importlib
import pkgutil

import pytest

import feedchar.chemistry
from feedchar.chemistry.diagnosis import Diagnosis
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.mineralogy import OXIDES, UNSEEN, Agreement
from feedchar.chemistry.unseen import FORMS, UnseenPrior

MODULES = [
    importlib.import_module(f"feedchar.chemistry.{module.name}")
    for module in pkgutil.iter_modules(feedchar.chemistry.__path__)
]
RECORDS = {
    f"{module.__name__}.{name}": kind
    for module in MODULES
    for name, kind in vars(module).items()
    if isinstance(kind, type) and dataclasses.is_dataclass(kind)
    and kind.__module__ == module.__name__
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(RECORDS))
def test_a_record_cannot_be_changed(name):
    kind = RECORDS[name]
    record = object.__new__(kind)
    field = dataclasses.fields(kind)[0].name
    with pytest.raises(dataclasses.FrozenInstanceError):
        setattr(record, field, None)


def test_what_a_record_holds_where_nothing_was_said():
    """Nothing burned off, nothing doubted, chains settled; a bare amount is an exponential."""
    assert Diagnosis().organics_wt_pct == 0.0
    agreement = Agreement(None, 0, None, {})
    assert (agreement.settled, agreement.doubtful) == (True, None)
    amount = Amount("gamma", mean=3.0)
    assert (amount.sd, amount.limit) == (3.0, 0.0)
    assert amount == Amount("gamma", mean=3.0, text="words tell two amounts not apart")
    assert not UnseenPrior("log-normal").assay_needed
    assert UnseenPrior("log-normal").median_wt_pct == 0.0
    assert (OXIDES[-1], UNSEEN, FORMS[0]) == ("other", "unseen", "stain")
