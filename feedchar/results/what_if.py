"""What the same feed gives at other settings: a grid computed beforehand, as records."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.uncertainty.summary import Uncertain


@dataclass(frozen=True)
class WhatIfPoint:
    """One setting of the grid and what it gives."""

    belt_speed_m_s: float
    splitter_m: float
    passes: int
    treated_retained_um: float
    """Lower cut of the size window; 0 where the fines go to the machine too."""
    Fe2O3_wt_pct: Uncertain
    yield_pct: Uncertain
    """Of the dry bag."""
    chance_of_meeting_limit: float | None


@dataclass(frozen=True)
class WhatIf:
    """Settings round the one that was assessed; every combination of its values is there."""

    points: tuple[WhatIfPoint, ...]
    trials: int
    """Trials behind each point."""
