"""From what was gathered to a `Sample`: tables in their order, each checked against the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from feedchar.errors import InputError
from feedchar.sample.assays import head_determinations, read_assays
from feedchar.sample.diagnostics import read_diagnostics
from feedchar.sample.fractions import read_fractions, with_fraction_names
from feedchar.sample.gathered import SPECS, Gathered
from feedchar.sample.minerals import read_minerals
from feedchar.sample.naming import UNIDENTIFIED, own_phases
from feedchar.sample.phases import read_phases
from feedchar.sample.records import (
    Determination,
    ExtraColumn,
    MineralAmount,
    Note,
    OxideValue,
    Sample,
    SieveClass,
    Texture,
)
from feedchar.sample.repeats import combine, head_assay
from feedchar.sample.rows import Row, read_rows
from feedchar.sample.settings import Settings, head_assay_of, read_settings
from feedchar.sample.shown import label, shown
from feedchar.sample.sieves import check_known_class, read_sieves
from feedchar.sample.susceptibility import bulk_susceptibility
from feedchar.sample.testbags import bags_waiting, read_tests
from feedchar.sample.textures import read_textures


def assemble(gathered: Gathered) -> Sample:
    """The sample from its keys and tables.

    Parameters
    ----------
    gathered : Gathered
        As written. [-]

    Returns
    -------
    Sample
        Checked, converted, in reading order. [-]

    Raises
    ------
    InputError
        For the first thing in reading order that cannot be used.
    """
    notes = list(gathered.notes)
    settings = read_settings(gathered.entries, gathered.mark)
    head = head_assay_of(settings, notes)
    limit = settings.limit()
    sections = settings.values
    susceptibility = None
    if "susceptibility" in sections:
        susceptibility = bulk_susceptibility(
            {k: v for k, v in sections["susceptibility"].items() if isinstance(v, float | str)},
            settings.places["susceptibility"],
            notes,
        )
    extras: list[ExtraColumn] = []
    phase_rows = _rows(gathered, "phases", extras, notes)
    names = own_phases(phase_rows)
    phases = read_phases(phase_rows)
    moisture = settings.number("moisture_pct")

    sieve_rows = _rows(gathered, "sieves", extras, notes)
    sieves, sieving, more = read_sieves(sieve_rows, moisture)
    notes += more
    fractions, more = read_fractions(_rows(gathered, "fractions", extras, notes), sieves, moisture)
    notes += more
    mineral_rows = _rows(gathered, "minerals", extras, notes)
    minerals, more = read_minerals(mineral_rows, names)
    notes += more
    _check_classes(mineral_rows, sieves)
    minerals = with_fraction_names(minerals, fractions, mineral_rows)
    loi = head["LOI"].value if "LOI" in head else None
    determinations, more = read_assays(_rows(gathered, "assays", extras, notes), moisture, loi)
    notes += more
    name = settings.text("name") or gathered.name
    head = _completed(head, head_determinations(determinations, name), notes)
    sieves = _with_assays(sieves, determinations, name, notes)
    textures, more = read_textures(_rows(gathered, "textures", extras, notes), names, sieves)
    notes += more
    notes += _not_listed(textures, minerals)
    diagnostics, more = read_diagnostics(_rows(gathered, "diagnostics", extras, notes))
    notes += more
    test_rows = _rows(gathered, "tests", extras, notes)
    tests = read_tests(test_rows)
    notes += bags_waiting(test_rows)
    if not minerals and not head:
        problem = "neither minerals nor a head assay are given"
        raise InputError(
            problem,
            file=label(gathered.files[0].name if gathered.files else gathered.name, 255),
            remedy="One of the two is needed: minerals.csv, or [assay]",
        )
    return Sample(
        name=name,
        note=settings.text("note") or "",
        origin=settings.text("origin"),
        rock=settings.text("rock"),
        received_kg=settings.number("received_kg"),
        moisture_pct=moisture,
        roll_feed_moisture_pct=settings.number("roll_feed_moisture_pct"),
        feed_temperature_c=_or(settings, "feed_temperature_c", 20.0),
        roll_temperature_c=_or(settings, "roll_temperature_c", 20.0),
        feed_t_h=settings.number("t_h", "feed"),
        minerals=minerals,
        phases=phases,
        sieves=sieves,
        sieving=sieving,
        assay=head,
        determinations=determinations,
        textures=textures,
        fractions=fractions,
        diagnostics=diagnostics,
        tests=tests,
        susceptibility=susceptibility,
        limit=limit,
        files=tuple(gathered.files),
        notes=tuple(dict.fromkeys(notes)),
        read_paths=tuple(gathered.read_paths),
        extras=tuple(extras),
    )


def _rows(
    gathered: Gathered, stem: str, extras: list[ExtraColumn], notes: list[Note]
) -> tuple[Row, ...]:
    """Rows of a table, none when it is not there."""
    table = gathered.tables.get(stem)
    if table is None:
        return ()
    rows, kept = read_rows(table, SPECS[stem])
    extras += kept
    for column in kept:
        filled = sum(bool(value) for value in column.values)
        text = f"{column.file}: the column {shown(column.column)} is kept and not used"
        notes.append(Note("extra-column", f"{text} ({filled} cells filled)"))
    return rows


def _or(settings: Settings, key: str, default: float) -> float:
    value = settings.number(key)
    return default if value is None else value


def _check_classes(rows: Sequence[Row], sieves: Sequence[SieveClass]) -> None:
    for row in rows:
        passing, retained = row.number_of("passing_um"), row.number_of("retained_um")
        if passing is not None and retained is not None:
            check_known_class(row, (passing, retained), sieves)


def _completed(
    head: dict[str, OxideValue], results: Sequence[Determination], notes: list[Note]
) -> dict[str, OxideValue]:
    """Head assay with the oxides that only assays.csv has."""
    found = head_assay(results)
    for oxide, value in found.items():
        if oxide in head:
            text = f"{value.place.file}: {oxide} of the bag is taken from [assay], not from here"
            notes.append(Note("assay-given", text))
        elif value.sd is not None:
            text = f"{value.place.file}: {oxide} {value.value:.4g} % is the mean of repeats, sd "
            notes.append(Note("repeats", f"{text}{value.sd:.2g}"))
    return found | head


def _with_assays(
    sieves: tuple[SieveClass, ...],
    results: Sequence[Determination],
    name: str,
    notes: list[Note],
) -> tuple[SieveClass, ...]:
    """Sieve classes with the oxides that assays.csv has for them."""
    bare = [replace(r, passing_um=None, retained_um=None) for r in results]
    of_feed = {id(r) for r in head_determinations(bare, name)}
    sized = [r for r, b in zip(results, bare, strict=True) if r.passing_um and id(b) in of_feed]
    by_class: dict[tuple[float | None, float | None], list[Determination]] = {}
    for result in sized:
        by_class.setdefault((result.passing_um, result.retained_um), []).append(result)
    filled = []
    for item in sieves:
        oxides, below = dict(item.oxides_wt_pct), list(item.below_detection)
        here = by_class.get(_bounds(item), [])
        for oxide in dict.fromkeys(r.oxide for r in here):
            if oxide in oxides:
                continue
            of_it = [r for r in here if r.oxide == oxide]
            found = [r for r in of_it if not r.below_detection]
            if found:
                oxides[oxide] = combine(found).value
            else:
                oxides[oxide] = min(r.value for r in of_it)
                below.append(oxide)
        filled.append(replace(item, oxides_wt_pct=oxides, below_detection=tuple(below)))
    classes = {_bounds(item) for item in sieves}
    for result in sized:
        if (result.passing_um, result.retained_um) not in classes:
            text = f"{result.place.file}, row {result.place.row}: this size class is not one of "
            notes.append(Note("class-not-sieved", f"{text}the sieve sheet; kept and not fitted"))
    return tuple(filled)


def _bounds(item: SieveClass) -> tuple[float, float]:
    return item.passing_um, item.retained_um


def _not_listed(textures: Sequence[Texture], minerals: Sequence[MineralAmount]) -> list[Note]:
    """Textures of what no row of minerals.csv names."""
    listed = {amount.mineral for amount in minerals} | {UNIDENTIFIED}
    notes = []
    for texture in textures:
        if minerals and texture.mineral not in listed:
            text = f"{texture.place.file}, row {texture.place.row}: {texture.mineral} is not among "
            notes.append(Note("texture-not-listed", f"{text}the minerals; not used", "warning"))
    return notes
