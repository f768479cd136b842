"""What it is made of: oxides, a mineralogy fitted to all data, and where they disagree."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.chemistry.formula import element_wt_pct, oxide_wt_pct

__all__ = ["element_wt_pct", "oxide_wt_pct"]

__getattr__ = front_door(
    __name__,
    {
        "element_wt_pct": "feedchar.chemistry.formula",
        "oxide_wt_pct": "feedchar.chemistry.formula",
    },
)
