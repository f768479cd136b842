"""What stands behind a calibration that was used, as a record for the report."""

from __future__ import annotations

from dataclasses import replace

from feedchar.assembly.tested_steps import steps_of_tests
from feedchar.field.setting import Setting
from feedchar.results.calibration import CalibrationUsed
from feedchar.sample.records import Note, Sample
from feedchar.separation.parameters import Calibration, draw_parameters
from feedchar.separation.setting_checks import calibration_notes
from feedchar.testwork.counted import counted_tests


def calibration_used(calibration: Calibration | None) -> CalibrationUsed | None:
    """A calibration as it is told: whose, of how many tests, and its machine in the middle.

    Parameters
    ----------
    calibration : Calibration or None
        What tests taught. [SI]

    Returns
    -------
    CalibrationUsed or None
        None without a calibration. [SI]

    Raises
    ------
    SettingError
        Draws that no machine has.
    """
    if calibration is None:
        return None
    typical = draw_parameters(0, 0, calibration)
    return CalibrationUsed(
        source=calibration.source,
        machine=calibration.machine,
        roll=calibration.roll,
        tests=len(calibration.tests),
        missed_share=float(typical.bypass[0]),
        carried_share=float(typical.entrainment[0]),
        pull_factor=float(typical.pull_factor[0]),
        adhesion_N=float(typical.adhesion_N[0]),
    )


def calibration_of_tests(
    calibration: Calibration | None, sample: Sample, base: Setting
) -> tuple[Note, ...]:
    """What to know of a calibration that tests of a sample are held against.

    Parameters
    ----------
    calibration : Calibration or None
        What other tests taught. [SI]
    sample : Sample
        With tests. [-]
    base : Setting
        The machine on which tests on a roll were run. [SI]

    Returns
    -------
    tuple of Note
        Its tests, whether they were run on another roll, and those of this sample among them. [-]

    Raises
    ------
    SettingError
        A test was run on another kind of machine than the calibration speaks of.
    InputError
        Rows that do not hang together.
    """
    if calibration is None:
        return ()
    rolls = {step.setting.machine for step in steps_of_tests(sample, base) if step.setting}
    notes: dict[str, Note] = {}
    for machine in sorted(rolls or {base.machine}):
        for note in calibration_notes(calibration, replace(base, machine=machine)):
            notes[note.code] = note
    known = set(calibration.tests)
    tests = counted_tests(sample.name, sample.tests, sample.determinations)
    again = [test.test for test in tests if test.sha256 in known]
    if again:
        text = (
            f"counted in the calibration: {', '.join(again)}; that a machine agrees with its own "
            "tests says little"
        )
        notes["tests-in-calibration"] = Note("tests-in-calibration", text, "warning")
    return tuple(notes.values())
