"""What a reader should know about machine and product: load, setting, rules of the trade."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.sanity_of_tests import laboratory_decides
from feedchar.errors import SettingError
from feedchar.field.setting import Setting
from feedchar.particles.classes import ParticleClasses
from feedchar.product.outlets import Outlets, treated_share
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.records import Limit, Note, Sample
from feedchar.separation.load import under_load
from feedchar.separation.records import Parameters
from feedchar.separation.setting_checks import setting_notes

BURY_ABOVE = 0.20
"""Share of magnetics on the belt above which a second look is worth it. [-]"""


def damp_parameters(sample: Sample, parameters: Parameters) -> tuple[Parameters, tuple[Note, ...]]:
    """Machine parameters with the moisture of the roll feed counted in.

    Parameters
    ----------
    sample : Sample
        Its roll feed moisture; dry where none is given. [-]
    parameters : Parameters
        Of a dry single layer. [SI]

    Returns
    -------
    tuple of Parameters and tuple of Note
        As the moisture makes them. [SI]

    Raises
    ------
    SettingError
        A moisture that cannot be.
    """
    return under_load(parameters, moisture_pct=sample.roll_feed_moisture_pct or 0.0)


def loaded_parameters(
    split: Outlets, parameters: Parameters
) -> tuple[Parameters, tuple[Note, ...]] | None:
    """Parameters where the magnetics bury each other on the belt.

    Parameters
    ----------
    split : Outlets
        What the setting does to a belt that is not buried. [-]
    parameters : Parameters
        Of that belt. [SI]

    Returns
    -------
    tuple of Parameters and tuple of Note, or None
        None where the magnetics leave room. [SI]
    """
    feed = float(split.roll_feed_mass[0])
    share = float(split.magnetics.mass[0]) / feed if feed > 0.0 else 0.0
    return under_load(parameters, magnetics_share=share) if share > BURY_ABOVE else None


def check_window(
    classes: ParticleClasses, passing_um: float | None, retained_um: float | None
) -> None:
    """The size window holds some of the sample.

    Parameters
    ----------
    classes : ParticleClasses
        The sample's grains. [um]
    passing_um, retained_um : float or None
        What goes to the machine; None leaves that end open. [um]

    Raises
    ------
    SettingError
        When nothing would meet the machine.
    """
    inside = treated_share(classes.sizes, passing_um, retained_um)[classes.size]
    fed = float(classes.mass[0] @ inside)
    if fed > 0.0:
        return
    some = np.flatnonzero(np.bincount(classes.size, classes.mass[0]) > 0.0)
    low, high = classes.sizes.retained_um[some].min(), classes.sizes.passing_um[some].max()
    message = (
        f"nothing of this sample lies in the size window {retained_um or 0:g}-"
        f"{'any' if passing_um is None else format(passing_um, 'g')} um: its grains are "
        f"{low:g} to {high:g} um. Give a window that meets them"
    )
    raise SettingError(message)


def machine_notes(setting: Setting) -> tuple[Note, ...]:
    """What to know of a setting that can be run.

    Parameters
    ----------
    setting : Setting
        The machine. [SI]

    Returns
    -------
    tuple of Note
        Belt speeds near or below the one at which sand leaves the top. [-]
    """
    return () if setting.machine == "induced-roll" else setting_notes(setting)


def product_notes(sample: Sample, split: Outlets, limit: Limit | None) -> tuple[Note, ...]:
    """Rules of the trade that only the product can trip.

    Parameters
    ----------
    sample : Sample
        Its assay of iron, which may be a `<`. [-]
    split : Outlets
        What the setting does. [-]
    limit : Limit or None
        What is asked. [-]

    Returns
    -------
    tuple of Note
        Whether a laboratory could tell product from limit. [-]
    """
    asked = None if limit is None else limit.max_wt_pct.get("Fe2O3")
    product = float(split.non_magnetics.oxide("Fe2O3")[0])
    if asked is None or not np.isfinite(product):
        return ()
    head = sample.assay.get("Fe2O3")
    detection = head.value if head is not None and head.below_detection else None
    note = laboratory_decides(asked, product, default_assay_sd("Fe2O3", asked), detection)
    return () if note is None else (note,)
