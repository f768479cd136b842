"""Particle classes as a table for people."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from feedchar.particles.classes import FORMS, ParticleClasses

if TYPE_CHECKING:
    import pandas as pd


def classes_frame(classes: ParticleClasses) -> pd.DataFrame:
    """Particle classes with their typical mass and its spread, one row a class.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]

    Returns
    -------
    pandas.DataFrame, C rows
        Masses in wt % of the dry bag; mean and sd are missing without trials. [wt %]

    References
    ----------
    computed_here
    """
    import pandas as pd

    names = np.array([*classes.phase_names, ""])
    draws = 100.0 * classes.mass[1:]
    some = len(draws) > 1
    missing = np.full(classes.mass.shape[1], np.nan)
    return pd.DataFrame(
        {
            "mineral": names[classes.mineral],
            "host": names[classes.host],
            "form": np.array(FORMS)[classes.form],
            "passing_um": classes.sizes.passing_um[classes.size],
            "retained_um": classes.sizes.retained_um[classes.size],
            "grade": classes.grade,
            "thickness_ratio": classes.thickness_ratio,
            "carrier": classes.carrier,
            "mass_pct": 100.0 * classes.mass[0],
            "mass_mean_pct": draws.mean(axis=0) if some else missing,
            "mass_sd_pct": draws.std(axis=0, ddof=1) if some else missing,
        }
    )
