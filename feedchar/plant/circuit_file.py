"""A circuit of one's own from a TOML file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from feedchar.errors import FeedcharError, InputError, SettingError
from feedchar.field.roll_file import FILE_MAX_BYTES, LARGEST
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Roll, Setting
from feedchar.plant.circuit import (
    COARSE,
    FINE,
    MAGNETICS,
    MIDDLE,
    MIDDLINGS,
    NON_MAGNETICS,
    ROLL,
    Circuit,
    Step,
    check_circuit,
)
from feedchar.sample.decode import decode, read_bytes
from feedchar.sample.plain_toml import plain_toml
from feedchar.sample.shown import file_label
from feedchar.separation.setting_checks import check_setting
from feedchar.tables.rolls import roll_rows
from feedchar.units import M_PER_MM

_OUTLETS = {
    "screen": (COARSE, MIDDLE, FINE),
    "split": (COARSE, FINE),
    "drum": (MAGNETICS, NON_MAGNETICS),
    "roll": (MAGNETICS, MIDDLINGS, NON_MAGNETICS),
}
_NUMBERS = {
    "screen": ("passing_um", "retained_um"),
    "split": ("at_um",),
    "drum": (),
    "roll": ("belt_speed_m_s", "splitter_mm", "splitter_2_mm"),
}
_WORDS = {"screen": (), "split": (), "drum": ("drum",), "roll": ("roll",)}


def read_circuit(path: str) -> Circuit:
    """Read a circuit.

    Parameters
    ----------
    path : str
        A TOML file: `name`, `feed_to`, and a table `[steps.NAME]` for each step with `kind`, the
        figures of that kind, and a route for each outlet. [-]

    Returns
    -------
    Circuit
        Checked; steps in the order of the file. [-]

    Raises
    ------
    InputError
        Text that is not TOML, a key that is not known, a value of the wrong kind, or a circuit
        that cannot be built.

    References
    ----------
    Derived here.
    """
    place = Path(path)
    name = file_label(place)
    text = decode(read_bytes(place, FILE_MAX_BYTES), name)
    try:
        data = plain_toml(text)
    except ValueError as error:
        problem = f"is not TOML ({str(error)[:80]})"
        raise InputError(problem, file=name) from None
    steps = data.pop("steps", None)
    title, feed_to = data.pop("name", place.stem), data.pop("feed_to", "")
    words = data.pop("note", "")
    if data:
        problem = f'the key "{next(iter(data))[:40]}" is not known'
        raise InputError(problem, file=name, remedy="name, note, feed_to and [steps.NAME]")
    if not isinstance(steps, dict) or not all(isinstance(one, dict) for one in steps.values()):
        problem = "a circuit needs steps"
        raise InputError(problem, file=name, remedy='Write [steps."roll 1"] and its keys below it')
    if not all(isinstance(one, str) for one in (title, feed_to, words)):
        problem = "name, note and feed_to are texts"
        raise InputError(problem, file=name)
    try:
        made = tuple(_step(key, dict(table), name, place.parent) for key, table in steps.items())
        return check_circuit(Circuit(title[:60], made, feed_to, words[:200]))
    except InputError:
        raise
    except FeedcharError as error:
        raise InputError(str(error), file=name) from None


def _own_roll(text: str, folder: Path, key: str, file: str) -> Roll:
    """A roll of the table, or of a file that lies with the circuit; no other file is opened."""
    if text in roll_rows():
        return read_roll(text)
    try:
        path = (folder / text).resolve()
        inside = path.is_relative_to(folder.resolve()) and path.is_file()
    except (OSError, RuntimeError, ValueError):
        inside = False
    if not inside:
        problem = f'"{text[:40]}" is no known roll and no file beside the circuit'
        remedy = f"A file in the same folder, or one of {', '.join(roll_rows())}"
        raise InputError(problem, file=file, column=key[:40], remedy=remedy)
    return read_roll(str(path))


def _step(key: str, table: dict[str, Any], file: str, folder: Path) -> Step:
    kind = table.pop("kind", None)
    if not isinstance(kind, str) or kind not in _OUTLETS:
        problem = f'the step "{key[:40]}" needs a kind'
        raise InputError(problem, file=file, remedy="screen, split, drum or roll")
    routes: dict[str, str] = {}
    figures: dict[str, float] = {}
    texts: dict[str, str] = {}
    for name, value in table.items():
        outlet = name.replace("-", "_")
        right: bool
        if outlet in _OUTLETS[kind]:
            right = isinstance(value, str)
            routes[outlet] = value
        elif name in _NUMBERS[kind]:
            right = isinstance(value, int | float) and not isinstance(value, bool)
            right = right and abs(value) < LARGEST
            figures[name] = float(value) if right else 0.0
        elif name in _WORDS[kind]:
            right = isinstance(value, str)
            texts[name] = value
        else:
            known = (*_OUTLETS[kind], *_NUMBERS[kind], *_WORDS[kind])
            problem = f'the key "{name[:40]}" of a {kind} is not known'
            raise InputError(problem, file=file, column=key[:40], remedy=", ".join(known))
        if not right:
            problem = f'the value of "{name}" is of the wrong kind: {str(value)[:40]}'
            remedy = "Routes are names in quotes, figures are numbers with a point"
            raise InputError(problem, file=file, column=key[:40], remedy=remedy)
    if kind != ROLL:
        return Step(
            key,
            kind,
            routes,
            passing_um=figures.get("passing_um"),
            retained_um=figures.get("retained_um"),
            at_um=figures.get("at_um"),
            drum=texts.get("drum", "weak"),
        )
    default = Pass()
    second = figures.get("splitter_2_mm")
    edge = figures.get("splitter_mm", default.splitter_m / M_PER_MM)
    machine = Pass(
        float(figures.get("belt_speed_m_s", default.belt_speed_m_s)),
        edge * M_PER_MM,
        None if second is None else second * M_PER_MM,
    )
    own = _own_roll(texts["roll"], folder, key, file) if "roll" in texts else None
    try:
        check_setting(Setting(own or read_roll(DEFAULT_ROLL), (machine,)))
    except SettingError as error:
        raise InputError(str(error), file=file, column=key[:40]) from None
    return Step(key, kind, routes, machine=machine, roll=own)
