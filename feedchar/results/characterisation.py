"""The result of an assessment as one frozen record: everything a report may show.

Field names carry units and are the keys of the JSON document. Tables by class, and the lines
of iron that stays, hold typical values; totals are `Uncertain`. None means undefined, and then a
note says why.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedchar.results.feed import (
    AssayResult,
    Basis,
    InputFiles,
    IronLine,
    MineralResult,
    UnseenIron,
)
from feedchar.results.machine import (
    MachinesCompared,
    ResponseLine,
    SearchedSetting,
    SettingResult,
)
from feedchar.results.product import (
    Answer,
    BestPair,
    BestPossible,
    DirtiestFeed,
    MeasureNext,
    ProductResult,
    StayLine,
)
from feedchar.results.taught import PastTests, TestsTaught
from feedchar.results.what_if import WhatIf
from feedchar.sample.records import Note

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Characterisation:
    """Everything about one bag, from feed to answer."""

    command: str
    seed: int
    trials: int
    input: InputFiles
    basis: Basis
    assay: AssayResult
    unseen_iron: UnseenIron
    minerals: tuple[MineralResult, ...]
    iron: tuple[IronLine, ...]
    response: tuple[ResponseLine, ...]
    setting: SettingResult
    product: ProductResult
    best_possible: BestPossible
    iron_that_stays: tuple[StayLine, ...]
    answer: Answer
    measure_next: tuple[MeasureNext, ...]
    notes: tuple[Note, ...]
    searched: tuple[SearchedSetting, ...] = ()
    best_pair: BestPair | None = None
    doubt: dict[str, float] = field(default_factory=dict)
    """Share of the spread of product iron that comes with each reason; adds to 1."""
    dirtiest_feed: DirtiestFeed | None = None
    machines: MachinesCompared | None = None
    received_kg: float | None = None
    moisture_pct: float | None = None
    sample_note: str = ""
    origin: str | None = None
    feed_t_h: float | None = None
    """Dry feed of the plant, where the sample names it."""
    what_if: WhatIf | None = None
    """Settings round this one, where they were asked for: never in the document."""
    tests_taught: TestsTaught | None = None
    past_tests: PastTests | None = None
    """These two in the document only where there is something to tell."""
    trial_values: dict[str, Array] = field(default_factory=dict, repr=False, compare=False)
    """Named trial arrays (T,) for those who compute on: never in the document."""

    def _repr_html_(self) -> str:
        """What a notebook shows, by the front door of the package."""
        from feedchar import repr_html

        return repr_html(self)
