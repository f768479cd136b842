"""A circuit as plain records: steps, and where each outlet of a step goes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from feedchar.errors import SettingError
from feedchar.field.setting import Pass, Roll

PRODUCT, REJECT, DUST = "product", "reject", "dust"
ENDS = (PRODUCT, REJECT, DUST)
SCREEN, SPLIT, DRUM, ROLL = "screen", "split", "drum", "roll"
COARSE, MIDDLE, FINE = "coarse", "middle", "fine"
MAGNETICS, MIDDLINGS, NON_MAGNETICS = "magnetics", "middlings", "non_magnetics"
MOST_STEPS = 20
FINEST_CUT_UM = 20.0
"""Dust finer than this counts as one size, so no cut may lie below it."""


@dataclass(frozen=True)
class Step:
    """One step; `routes` sends each of its outlets to a step, or to product, reject or dust."""

    name: str
    kind: str
    """screen (a window of sizes) | split (one cut) | drum | roll (one pass)."""
    routes: Mapping[str, str]
    passing_um: float | None = None
    """Screen: upper end of the middle; None: no coarse cut."""
    retained_um: float | None = None
    """Screen: lower end of the middle; None: no fine cut."""
    at_um: float | None = None
    """Split: its cut."""
    drum: str = "weak"
    """Drum: weak | strong."""
    machine: Pass = field(default_factory=Pass)
    """Roll: speed and edges."""
    roll: Roll | None = None
    """Roll: its own roll; None: that of the setting."""

    @property
    def outlets(self) -> tuple[str, ...]:
        """Outlets that this step has, each of which needs a route."""
        if self.kind == SCREEN:
            coarse = () if self.passing_um is None else (COARSE,)
            fine = () if self.retained_um is None else (FINE,)
            return (*coarse, MIDDLE, *fine)
        if self.kind == SPLIT:
            return (COARSE, FINE)
        if self.kind == ROLL and self.machine.splitter_2_m is not None:
            return (MAGNETICS, MIDDLINGS, NON_MAGNETICS)
        return (MAGNETICS, NON_MAGNETICS)

    @property
    def cuts_um(self) -> tuple[float, ...]:
        """Sizes at which this step cuts. [um]"""
        named = (self.passing_um, self.retained_um, self.at_um)
        return tuple(cut for cut in named if cut is not None)


@dataclass(frozen=True)
class Circuit:
    """Steps in any order; the feed enters the first unless `feed_to` names another."""

    name: str
    steps: tuple[Step, ...]
    feed_to: str = ""
    words: str = ""
    """One line for the reader."""

    @property
    def entry(self) -> str:
        """Name of the step that receives the feed."""
        return self.feed_to or self.steps[0].name

    @property
    def rolls(self) -> tuple[Step, ...]:
        """Steps that are passes over a roll."""
        return tuple(step for step in self.steps if step.kind == ROLL)

    @property
    def machines(self) -> tuple[Step, ...]:
        """Steps with magnets: rolls and drums."""
        return tuple(step for step in self.steps if step.kind in (ROLL, DRUM))

    @property
    def recycles(self) -> bool:
        """Whether any stream comes back to a step that it has left."""
        return any(
            step.name in _reached(self, target)
            for step in self.steps
            for target in step.routes.values()
        )

    @property
    def cuts_um(self) -> tuple[float, ...]:
        """Sizes at which any step cuts, the coarsest first. [um]"""
        return tuple(sorted({cut for step in self.steps for cut in step.cuts_um}, reverse=True))


def check_circuit(circuit: Circuit) -> Circuit:
    """The same circuit, refused when it cannot be built.

    Parameters
    ----------
    circuit : Circuit
        Steps and routes. [-]

    Returns
    -------
    Circuit
        The same. [-]

    Raises
    ------
    SettingError
        No step or too many, names used twice, an outlet without a route or a route to nowhere,
        sizes in the wrong order, a step that the feed never reaches or that nothing leaves, or
        no way to the product.

    References
    ----------
    Derived here.
    """
    names = [step.name for step in circuit.steps]
    if not 1 <= len(names) <= MOST_STEPS:
        message = f"A circuit has 1 to {MOST_STEPS} steps, found {len(names)}"
        raise SettingError(message)
    for name in names:
        if not name or name in ENDS or names.count(name) > 1:
            message = (
                f'The step name "{name[:40]}" cannot be used: each step has its own name, and '
                f"{', '.join(ENDS)} are taken"
            )
            raise SettingError(message)
    if circuit.entry not in names:
        message = f'The feed goes to "{circuit.entry[:40]}", which is no step of the circuit'
        raise SettingError(message)
    for step in circuit.steps:
        _check_step(step, names)
    reached = _reached(circuit, circuit.entry)
    for step in circuit.steps:
        if step.name not in reached:
            message = f'No feed reaches the step "{step.name}"; take it out or send something to it'
            raise SettingError(message)
        if not _reached(circuit, step.name) & set(ENDS):
            message = f'Nothing that enters "{step.name}" ever leaves the circuit'
            raise SettingError(message)
    if PRODUCT not in reached:
        message = "Nothing goes to the product; send the non-magnetics of the last pass there"
        raise SettingError(message)
    return circuit


def _check_step(step: Step, names: list[str]) -> None:
    where = f'Step "{step.name}": '
    if step.kind not in (SCREEN, SPLIT, DRUM, ROLL):
        message = f'{where}kind "{step.kind[:40]}" is not known; screen, split, drum or roll'
        raise SettingError(message)
    if step.kind == DRUM and step.drum not in ("weak", "strong"):
        message = f'{where}a drum is weak or strong, found "{step.drum[:40]}"'
        raise SettingError(message)
    if step.kind in (SCREEN, SPLIT) and not step.cuts_um:
        message = f"{where}a {step.kind} needs a size to cut at"
        raise SettingError(message)
    for cut in step.cuts_um:
        if not FINEST_CUT_UM <= cut < 1e6:
            message = f"{where}a cut must be from {FINEST_CUT_UM:g} um up, found {cut:g} um"
            raise SettingError(message)
    top, bottom = step.passing_um, step.retained_um
    if top is not None and bottom is not None and top <= bottom:
        message = f"{where}the window is empty: passing {top:g} um, retained on {bottom:g} um"
        raise SettingError(message)
    if set(step.routes) != set(step.outlets):
        message = f"{where}needs a route for {', '.join(step.outlets)} and no other"
        raise SettingError(message)
    for outlet, target in step.routes.items():
        if target not in names and target not in ENDS:
            message = (
                f'{where}{outlet} goes to "{target[:40]}", which is no step; a step or '
                f"{', '.join(ENDS)}"
            )
            raise SettingError(message)


def _reached(circuit: Circuit, start: str) -> set[str]:
    routes = {step.name: set(step.routes.values()) for step in circuit.steps}
    found, edge = {start}, {start}
    while edge:
        edge = {target for name in edge for target in routes.get(name, set())} - found
        found |= edge
    return found
