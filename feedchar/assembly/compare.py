"""A test held against its own balance, and against the prediction."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.calibration_used import calibration_of_tests, calibration_used
from feedchar.assembly.causes import Difference, causes_of, difference_of
from feedchar.assembly.checks import damp_parameters
from feedchar.assembly.compare_balance import balance_result, mass_losses, recoveries
from feedchar.assembly.compare_words import answer_of, assumed_notes, mistake_words
from feedchar.assembly.compare_yields import assay_yields
from feedchar.assembly.machine import grains_for
from feedchar.assembly.mistakes import mistakes_of, undone
from feedchar.assembly.subset import Trials
from feedchar.assembly.tested import PredictedBag, predict_tests
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Setting
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.particles.surface import sized_by_surface
from feedchar.results import InputFiles
from feedchar.results.comparison import ComparedFigure, Comparison, PutRight, StepAgreement
from feedchar.sample.records import Note, Sample
from feedchar.separation.parameters import draw_parameters
from feedchar.testwork.bilinear import reconcile_bags
from feedchar.testwork.campaign import Campaign, campaign_of
from feedchar.testwork.explained import FEWEST_TRIALS, misfit
from feedchar.testwork.figures import Figure, figures_of, measured, share_of
from feedchar.testwork.gross_error import find_gross_error
from feedchar.uncertainty.summary import summarise

if TYPE_CHECKING:
    from feedchar.results.comparison import Cause, MistakeFound
    from feedchar.separation.parameters import Calibration

Array = NDArray[np.float64]

AGREES_FROM = 0.01
"""Chance below which a prediction is called different. [-]"""
LOOK_BELOW = 0.2
"""A balance better than this is not searched for mistakes. [-]"""


def compare(
    sample: Sample,
    setting: Setting | None = None,
    calibration: Calibration | None = None,
    trials: int = 1000,
    seed: int = 1,
) -> Comparison:
    """The tests of a sample: do they balance, do they agree with the prediction, and why not.

    Parameters
    ----------
    sample : Sample
        With tests.csv and assays.csv. [-]
    setting : Setting or None
        The machine on which tests on a roll were run; its passes are not used. None: the default
        roll. [SI]
    calibration : Calibration or None
        What other tests taught of the machine. [-]
    trials : int
        Number of draws; causes are looked for from 200. [-]
    seed : int
        Seed of every random stream. [-]

    Returns
    -------
    Comparison
        Records for the report. [-]

    Raises
    ------
    InputError
        No tests, or bags that do not hang together.
    FeedcharError
        When sample or setting cannot be used, or the calibration is of another machine.

    References
    ----------
    narasimhan_2000 for the reconciliation; named in the rooms that each step calls.
    """
    campaign = campaign_of(sample)
    found = reconcile_bags(campaign.bags)
    search = min(found.p_value, found.doubt_p_value) < LOOK_BELOW
    diagnosis = find_gross_error(campaign.bags) if search else None
    mistakes = mistakes_of(campaign, diagnosis)
    right, mistake = _put_right(campaign, mistakes)
    closing = found if mistake is None else reconcile_bags(right.bags)

    base = setting or Setting(roll=read_roll(DEFAULT_ROLL), passes=())
    known = calibration_of_tests(calibration, sample, base)
    feed = feed_trials(sample, calibration, trials, seed)

    def predict(from_trials: Trials) -> tuple[PredictedBag, ...]:
        return predict_tests(sample, from_trials, base)

    predicted = predict(feed)
    figures = figures_of(right)
    difference = difference_of(right.bags, figures, predicted)
    agreement = _agreement(right, difference) if trials else ()
    notes = [*sample.notes, *campaign.notes, *known]
    losses, loss_notes = mass_losses(campaign)
    notes += loss_notes
    notes += assumed_notes(predicted)
    # All figures together may hide a difference that one cause makes plain, so all are asked.
    causes: tuple[Cause, ...] = ()
    if agreement and trials >= FEWEST_TRIALS:
        causes = causes_of(difference, feed, predict)
    elif agreement:
        text = f"causes are looked for from {FEWEST_TRIALS} trials, and there are {trials}"
        notes.append(Note("too-few-trials", text))
    far = bool(agreement) and agreement[0].p_value < AGREES_FROM
    differs = far or any(one.named for one in causes)
    balance = balance_result(campaign, found)
    verdict = "differs" if differs else "agrees"
    if not agreement:
        verdict = "not judged" if difference.figures else "not predicted"
    return Comparison(
        command="compare",
        seed=seed,
        trials=trials,
        input=InputFiles(sample.name, sample.files),
        verdict=verdict,
        answer=answer_of(balance, mistakes, mistake, verdict, causes),
        balance=balance,
        mistakes=mistakes,
        losses=losses,
        yields=assay_yields(campaign),
        recoveries=tuple(recoveries(right, closing, feed.mineralogy)),
        put_right=None
        if mistake is None
        else PutRight(
            mistake_words(mistake), closing.chi_square, closing.degrees_of_freedom, closing.p_value
        ),
        agreement=agreement,
        compared=_compared(right, difference, predicted),
        causes=causes if differs else (),
        not_predicted={
            one.bag: one.reason for one in predicted if one.reason and one.product != "dust"
        },
        notes=tuple(notes),
        sample_note=sample.note,
        calibration=calibration_used(calibration),
        minerals=tuple(phase.name for phase in feed.mineralogy.phases),
    )


def feed_trials(sample: Sample, calibration: Calibration | None, trials: int, seed: int) -> Trials:
    """Feed, classes, grains and machine of a sample, as a prediction of its tests takes them.

    Parameters
    ----------
    sample : Sample
        What was measured of the feed. [-]
    calibration : Calibration or None
        What other tests taught of the machine. [-]
    trials : int
        Number of draws. [-]
    seed : int
        Seed of every random stream. [-]

    Returns
    -------
    Trials
        trials + 1 rows, moisture counted in. [-]

    Raises
    ------
    FeedcharError
        When the sample cannot be used.
    """
    mineralogy = mineralogy_of(sample, trials, seed)
    sizes = SizeClasses(*size_classes(sample)[:2])
    mineralogy = sized_by_surface(sample, mineralogy, sizes)
    classes, _ = build_classes(sample, mineralogy, sizes, seed)
    grains = grains_for(classes, mineralogy, sample.feed_temperature_c)
    parameters, _ = damp_parameters(sample, draw_parameters(trials, seed, calibration))
    return Trials(mineralogy, classes, grains, parameters)


def _put_right(
    campaign: Campaign, mistakes: tuple[MistakeFound, ...]
) -> tuple[Campaign, MistakeFound | None]:
    """The campaign with the one mistake undone that the balance names, if there is one such."""
    named = [one for one in mistakes if one.named and one.found_by == "balance"]
    if not named:
        return campaign, None
    bags = undone(campaign.bags, named[0])
    if bags is None:
        return campaign, None
    return replace(campaign, bags=bags), named[0]


def _agreement(campaign: Campaign, difference: Difference) -> tuple[StepAgreement, ...]:
    """All figures together, then step by step."""
    if not difference.figures:
        return ()
    steps: dict[tuple[str, ...], list[int]] = {}
    for d, one in enumerate(difference.figures):
        row, parent = campaign.row[one.bag], int(campaign.bags.parent[one.bag])
        if row is not None:
            key = (row.test, row.step or "", row.repeat or "", campaign.bags.bag[parent])
            steps.setdefault(key, []).append(d)
    whole = difference.misfit
    count = len(difference.figures)
    made = [StepAgreement("all", None, None, "", count, whole.chi_square, whole.p_value)]
    value, sd = measured(difference.bags, difference.figures)
    for (test, step, repeat, source), places in steps.items():
        part = misfit(value[places], sd[places], difference.predicted[:, places])
        chi, p = part.chi_square, part.p_value
        made.append(StepAgreement(test, step or None, repeat or None, source, len(places), chi, p))
    return tuple(made)


def _compared(
    campaign: Campaign, difference: Difference, predicted: tuple[PredictedBag, ...]
) -> tuple[ComparedFigure, ...]:
    by_name = {one.bag: one for one in predicted}
    made = []
    for d, figure in enumerate(difference.figures):
        bag, row = campaign.bags.bag[figure.bag], campaign.row[figure.bag]
        one = by_name[bag]
        if row is None or one.share is None:
            continue
        quantity, value, sd, trials = _plainly(difference, figure, one)
        made.append(
            ComparedFigure(
                bag,
                row.test,
                row.step,
                row.repeat,
                campaign.bags.bag[int(campaign.bags.parent[figure.bag])],
                row.product,
                quantity,
                value,
                sd,
                summarise(trials),
                float(difference.misfit.z[d]) if len(difference.predicted) > 1 else None,
            )
        )
    return tuple(made)


def _plainly(
    difference: Difference, figure: Figure, one: PredictedBag
) -> tuple[str, float, float, Array]:
    bags = difference.bags
    if figure.oxide < 0:
        share, sd = share_of(bags, figure)
        trials = 100.0 * np.asarray(one.share)
        return "share_pct", 100.0 * share, 100.0 * sd, trials
    oxide = bags.oxide[figure.oxide]
    place = (figure.bag, figure.oxide)
    return oxide, float(bags.assay[place]), float(bags.assay_sd[place]), one.oxide(oxide)
