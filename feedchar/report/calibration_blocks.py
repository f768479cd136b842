"""A machine before and after its tests, side by side, and every figure that was counted."""

from __future__ import annotations

from feedchar.report.blocks import SEVERITIES, Block, Findings, Part, Words
from feedchar.report.taught_blocks import before_and_after, figures_table
from feedchar.report.words import name, prose
from feedchar.results.calibration import CalibrationResult, CalibrationUsed


def calibration_findings(result: CalibrationResult) -> Findings:
    """The whole report of `calibrate`.

    Parameters
    ----------
    result : CalibrationResult
        The result. [-]

    Returns
    -------
    Findings
        The machine first, then the figures, then what was left out. [-]
    """
    count = len(result.tests)
    basis = f"{count} TEST{'' if count == 1 else 'S'} COUNTED"
    if result.counted_before:
        basis += f", {len(result.counted_before)} BEFORE"
    title = f"{name(result.roll)}, {result.machine}"
    blocks = [_machine(result), _figures(result), _counted(result)]
    facts = f"stated discrepancy {100.0 * result.discrepancy_ln:.0f} % (guess)"
    return Findings(title, basis, tuple(blocks), facts)


def calibrated(used: CalibrationUsed) -> str:
    """Whose machine another command took.

    Parameters
    ----------
    used : CalibrationUsed
        The calibration. [-]

    Returns
    -------
    str
        A clause without a full stop, such as `machine by calibration: 3 tests of GS-05`. [-]
    """
    roll = f" on {name(used.roll)}" if used.roll else ""
    return f"machine by calibration: {name(used.source)}{roll}"


def _machine(result: CalibrationResult) -> Block:
    if result.method == "weights":
        how = (
            f"Of {result.trials} trials, weighed by how well they agree with the tests, as many "
            f"are left as {result.effective_trials:.0f} that agree fully."
        )
    else:
        how = (
            f"Weights would have left {result.effective_trials:.0f} of {result.trials} trials, so "
            "trials were moved until they agree with the tests (Metropolis' rule)."
        )
    before = "the earlier calibration" if result.counted_before else "the stated guesses"
    parts: list[Part] = [
        before_and_after(result.parameters),
        Words(f"Before: {before}. {how}", "quiet"),
        Words(
            "What the feed leaves open is counted in; a pull of 1 is that of the roll as computed.",
            "quiet",
        ),
    ]
    return Block("machine", "THE MACHINE", tuple(parts), f"{result.trials} trials")


def _figures(result: CalibrationResult) -> Block:
    parts: list[Part] = []
    for sample in dict.fromkeys(one.sample for one in result.figures):
        if len(result.input) > 1:
            parts.append(Words(name(sample), "strong"))
        parts.append(figures_table(one for one in result.figures if one.sample == sample))
    parts.append(
        Words(
            "Weights in % of the outlets of a step. Off: measured less said afterwards, over all "
            "errors; ! beyond 2.",
            "quiet",
        )
    )
    return Block("figures", "MEASURED AND SAID", tuple(parts))


def _counted(result: CalibrationResult) -> Block:
    parts: list[Part] = [
        Words(f"{name(test.test)} of {name(test.sample)} {test.sha256[:12]}", mark="+")
        for test in result.tests
    ]
    parts += [
        Words(f"{name(test.test)} of {name(test.sample)} {test.sha256[:12]}, before", "quiet", "=")
        for test in result.counted_before
    ]
    parts += [
        Words(prose(f"{one.what} is left out: {one.why}"), "doubtful", "!")
        for one in result.left_out
    ]
    for note in result.notes:
        mark, role = SEVERITIES[note.severity]
        parts.append(Words(prose(note.text), role, mark))
    return Block("counted", "TESTS COUNTED", tuple(parts), "each once")
