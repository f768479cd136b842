"""Finished trials of a sample: feed, classes and grains, before any machine is asked."""

from __future__ import annotations

from feedchar.assembly.machine import grains_for
from feedchar.assembly.subset import Trials
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.particles.surface import sized_by_surface
from feedchar.sample.records import Sample
from feedchar.separation.parameters import draw_parameters


def finished_trials(sample: Sample, trials: int, seed: int) -> Trials:
    """Trials of a feed, with machines of the stated priors.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    trials : int
        Number of draws. [-]
    seed : int
        Seed of every random stream. [-]

    Returns
    -------
    Trials
        trials + 1 rows, row 0 the typical case; moisture is not counted in. [-]

    Raises
    ------
    FeedcharError
        A sample that cannot be used.
    """
    mineralogy = mineralogy_of(sample, trials, seed)
    sizes = SizeClasses(*size_classes(sample)[:2])
    mineralogy = sized_by_surface(sample, mineralogy, sizes)
    classes, _ = build_classes(sample, mineralogy, sizes, seed)
    grains = grains_for(classes, mineralogy, sample.feed_temperature_c)
    return Trials(mineralogy, classes, grains, draw_parameters(trials, seed))
