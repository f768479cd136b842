"""Sections, keys and values of a sample, from sample.toml or from the sheet `sample`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from feedchar.errors import InputError
from feedchar.sample.assay_error import least_assay_sd
from feedchar.sample.bases import to_dried
from feedchar.sample.cells import Cell, is_blank
from feedchar.sample.columns import Column
from feedchar.sample.decimals import POINT, DecimalMark, decimal_mark
from feedchar.sample.iron import as_oxides
from feedchar.sample.limit import Demand, known_keys, limit_key, make_limit
from feedchar.sample.names import closest, heading_key, nearest
from feedchar.sample.oxides import OXIDE_NAMES, OxideHeading, OxideReading, oxide_heading
from feedchar.sample.records import Limit, Note, OxideValue, Place
from feedchar.sample.sections import SECTIONS
from feedchar.sample.shown import shown
from feedchar.sample.sums import CLOSURE_EDGE_PCT
from feedchar.sample.values import Value, read_oxide, read_value


@dataclass(frozen=True)
class Entry:
    """One key with its value, as written."""

    section: str
    key: str
    cell: Cell
    place: Place


@dataclass
class Settings:
    """All keys, read."""

    values: dict[str, dict[str, Value]] = field(default_factory=dict)
    places: dict[str, dict[str, Place]] = field(default_factory=dict)
    assay: list[OxideReading] = field(default_factory=list)
    assay_sd: dict[str, tuple[float, Place]] = field(default_factory=dict)
    demands: list[Demand] = field(default_factory=list)

    def text(self, key: str, section: str = "") -> str | None:
        """Text of a key, None when not given."""
        value = self.values.get(section, {}).get(key)
        return None if value is None else str(value)

    def number(self, key: str, section: str = "") -> float | None:
        """Number of a key, None when not given."""
        value = self.values.get(section, {}).get(key)
        return float(value) if isinstance(value, (int, float)) else None

    def limit(self) -> Limit | None:
        """What is asked of the product, None when nothing is."""
        return make_limit(self.demands) if self.demands else None


def read_settings(entries: Sequence[Entry], mark: DecimalMark | None = POINT) -> Settings:
    """All keys of a sample, typed and in range.

    Parameters
    ----------
    entries : sequence of Entry
        Keys in reading order. [-]
    mark : DecimalMark or None
        Decimal mark of texts that hold numbers; None lets the entries decide. [-]

    Returns
    -------
    Settings
        Values by section. [-]

    Raises
    ------
    InputError
        For an unknown section or key, with the nearest, a key twice, and a value that cannot
        be used.
    """
    settings = Settings()
    seen: dict[tuple[str, str], Place] = {}
    if mark is None:
        numeric = (e.cell for e in entries if isinstance(e.cell, str) and _is_numeric(e))
        mark = decimal_mark(numeric, "")
    for entry in entries:
        section = _section(entry)
        name, meaning = _meaning(section, entry)
        if (section, name) in seen:
            raise _error(entry, f"{shown(entry.key)} is given twice", "Keep one")
        seen[section, name] = entry.place
        if is_blank(entry.cell):
            continue
        _store(settings, section, replace(entry, section=section), name, meaning, mark)
    return settings


Meaning = Column | OxideHeading


def _section(entry: Entry) -> str:
    key = heading_key(entry.section)
    if key in SECTIONS:
        return key
    raise _error(
        entry, f"the section {shown(entry.section)} is not known", closest(entry.section, SECTIONS)
    )


def _meaning(section: str, entry: Entry) -> tuple[str, Meaning]:
    columns = SECTIONS[section][1]
    column = next((c for c in columns if c.name == heading_key(entry.key)), None)
    if column is not None:
        return column.name, column
    if section in ("assay", "assay_sd"):
        heading = oxide_heading(entry.key)
        if heading is not None:
            return heading.name, heading
    if section == "limit":
        key = limit_key(entry.key)
        if key is not None:
            return key, Column(key, "", "number")
    raise _error(entry, f"the key {shown(entry.key)} is not known", _likely(section, entry.key))


def _likely(section: str, key: str) -> str:
    names = [column.name for column in SECTIONS[section][1]]
    if section in ("assay", "assay_sd"):
        names += [*OXIDE_NAMES, "Fe", "FeO", "Fe2O3_total"]
    if section == "limit":
        names = known_keys()
        if oxide_heading(key) is not None:
            return f'Did you mean "{key}_max_pct"? A limit says max or min'
    if not section and heading_key(key) in SECTIONS:
        return f"It is a section: [{heading_key(key)}] in a line of its own, its keys below"
    near = nearest(key, names)
    if near is not None:
        return f'Did you mean "{near}"?'
    for other, (_, columns) in SECTIONS.items():
        if any(column.name == heading_key(key) for column in columns):
            return (
                f"It belongs to the section [{other}]" if other else "It stands above all sections"
            )
    return "Allowed: " + ", ".join(names[:14])


def _is_numeric(entry: Entry) -> bool:
    section = heading_key(entry.section)
    if section in ("assay", "assay_sd"):
        return heading_key(entry.key) != "basis"
    if section == "limit":
        return heading_key(entry.key) != "use"
    columns = SECTIONS.get(section, ("", ()))[1]
    return any(c.is_number and c.name == heading_key(entry.key) for c in columns)


def _store(
    settings: Settings,
    section: str,
    entry: Entry,
    name: str,
    meaning: Meaning,
    mark: DecimalMark,
) -> None:
    if isinstance(meaning, OxideHeading):
        if section == "assay":
            settings.assay.append(read_oxide(entry.cell, meaning, mark, entry.place))
        else:
            heading = replace(meaning, is_sd=True)
            reading = read_oxide(entry.cell, heading, mark, entry.place)
            settings.assay_sd[name] = (reading.value, entry.place)
        return
    value = read_value(entry.cell, meaning, mark, entry.place)
    if section == "limit":
        demanded = value if isinstance(value, (float, str)) else str(value)
        settings.demands.append(Demand(name, demanded, entry.place))
        return
    settings.values.setdefault(section, {})[name] = value
    settings.places.setdefault(section, {})[name] = entry.place


def _error(entry: Entry, problem: str, remedy: str) -> InputError:
    place = entry.place
    return InputError(problem, file=place.file, row=place.row, column=place.column, remedy=remedy)


def head_assay_of(settings: Settings, notes: list[Note]) -> dict[str, OxideValue]:
    """Head assay of the dry bag from the sections assay and assay_sd.

    Parameters
    ----------
    settings : Settings
        Keys of the sample. [-]
    notes : list of Note
        Extended by what was converted or floored. [-]

    Returns
    -------
    dict of str to OxideValue
        Oxides, iron as Fe2O3, and LOI. [wt %]

    Raises
    ------
    InputError
        For a sum that cannot be percent, a standard deviation without a value, ambiguous iron,
        or a basis that cannot be converted.
    """
    stated = {reading.name for reading in settings.assay}
    for name, (_, place) in settings.assay_sd.items():
        if name not in stated:
            problem = f"{name} has a standard deviation and no value of that name in [assay]"
            raise InputError(
                problem,
                file=place.file,
                row=place.row,
                column=place.column,
            )
    sds = {name: sd for name, (sd, _) in settings.assay_sd.items()}
    readings = as_oxides([replace(r, sd=sds.get(r.name)) for r in settings.assay])
    _note_iron(settings.assay, notes)
    _check_sum(readings)
    dried = to_dried(
        readings, settings.text("basis", "assay"), settings.number("moisture_pct"), notes
    )
    return {name: _oxide_value(reading, notes) for name, reading in dried.items()}


def _note_iron(assay: Sequence[OxideReading], notes: list[Note]) -> None:
    for reading in assay:
        if reading.name in ("Fe", "FeO", "Fe_total", "FeO_total"):
            text = f"{reading.place.file}: all iron stated as {reading.name}, shown as Fe2O3"
            notes.append(Note("iron-stated", text))


def _check_sum(readings: Mapping[str, OxideReading]) -> None:
    total = sum(reading.value for reading in readings.values() if not reading.below)
    problem = remedy = ""
    if "SiO2" in readings and abs(total - 1.0) <= 0.05:
        problem = f"the assay sums to {total:.4g} %"
        remedy = "Fractions for percent? Multiply by 100"
    elif total > 100.0 + CLOSURE_EDGE_PCT:
        problem = f"the assay sums to {total:.6g} %, more than 100 within {CLOSURE_EDGE_PCT:g}"
        remedy = "ppm among the percent? A key such as Cr2O3_ppm takes ppm"
    if problem:
        place = next(iter(readings.values())).place
        raise InputError(problem, file=place.file, row=place.row, column="assay", remedy=remedy)


def _oxide_value(reading: OxideReading, notes: list[Note]) -> OxideValue:
    name, place = reading.name, reading.place
    sd = reading.sd
    if sd is not None and not reading.below:
        least = least_assay_sd(reading.value)
        if sd < least:
            text = f"{place.file}: sd of {name} raised from {sd:g} to {least:.2g} %"
            notes.append(Note("sd-floor", f"{text}, no laboratory is that sure"))
            sd = least
    if reading.value == 0 and not reading.below:
        text = f"{place.file}: {name} is exactly 0; a laboratory says < and its limit"
        notes.append(Note("assay-zero", text))
    if reading.value < 0:
        text = f"{place.file}: {name} is {reading.value:g} %: a gain on ignition"
        notes.append(Note("gain-on-ignition", text))
    return OxideValue(reading.value, sd, reading.below, place)
