"""textures.csv: how the grains of a mineral are joined, and words that are kept as written."""

from __future__ import annotations

from collections.abc import Sequence

from feedchar.sample.columns import Column, TableSpec, choices
from feedchar.sample.names import TEXT_MAX_CHARACTERS
from feedchar.sample.naming import PhaseNames
from feedchar.sample.records import Note, SieveClass, Texture
from feedchar.sample.rows import Row
from feedchar.sample.sieves import check_known_class
from feedchar.sample.sizes import class_bounds

FORMS = choices(
    "free",
    "joined",
    "inclusion",
    "stain",
    "inside",
    free="liberated",
    joined="locked;composite;middling",
    inclusion="inclusions;included",
    stain="stained;coating;coated",
    inside="in the crystal;lattice",
)

SPEC = TableSpec(
    "textures",
    "How the grains of a mineral sit: one row a form. The shares of a mineral sum to at most 100; "
    "what is not given follows the defaults.",
    (
        Column("mineral", "the mineral, or a phase of phases.csv", needed=True),
        Column("host", "what it is joined to, included in, or a stain on"),
        Column(
            "form",
            "free, joined, inclusion, stain, inside (the crystal)",
            "choice",
            choices=FORMS,
        ),
        Column("share_pct", "share of that mineral in this form", "number", "%", 0, 100),
        Column("grain_size_um", "size of its grains in the rock", "number", "um", 0, 125_000, True),
        Column(
            "thickness_um",
            "thickness of its flakes: decides mica",
            "number",
            "um",
            0,
            125_000,
            True,
        ),
        Column("passing_um", "size class: the sieve it passes", "size", "um"),
        Column("retained_um", "size class: the sieve it stays on", "size or pan", "um"),
        Column("words", "what was seen, in words: kept, never parsed", longest=TEXT_MAX_CHARACTERS),
    ),
)

_SLACK_PCT = 0.5
"""Shares may exceed 100 by this much through rounding. [%]"""


def read_textures(
    rows: Sequence[Row], names: PhaseNames, classes: Sequence[SieveClass]
) -> tuple[tuple[Texture, ...], tuple[Note, ...]]:
    """Textures, and the words of rows that hold nothing else.

    Parameters
    ----------
    rows : sequence of Row
        Rows of textures.csv. [-]
    names : PhaseNames
        Phases of the user's own. [-]
    classes : sequence of SieveClass
        The sieve sheet. [-]

    Returns
    -------
    tuple
        Textures in reading order, and notes. [-]

    Raises
    ------
    InputError
        For a row without a form, shares above 100, a flake thicker than its grain, or a size
        class that is not in the sieve sheet.
    """
    textures: list[Texture] = []
    notes: list[Note] = []
    shares: dict[tuple[str, float | None], float] = {}
    for row in rows:
        mineral = names.resolve(row, "mineral")
        host = names.resolve(row, "host") if row.text("host") else None
        bounds = class_bounds(
            row.number_of("passing_um"), row.number_of("retained_um"), row.place()
        )
        check_known_class(row, bounds, classes)
        form, words = row.text("form"), row.text("words")
        share = row.number_of("share_pct")
        size, thickness = row.number_of("grain_size_um"), row.number_of("thickness_um")
        if form is None:
            if words is None or any(v is not None for v in (share, size, thickness)):
                problem = "is blank"
                raise row.error(problem, "form", "free, joined, inclusion, stain or inside")
            notes.append(Note("texture-words", f"{row.file}, row {row.number}: {mineral}: {words}"))
            continue
        key = (mineral, bounds[0] if bounds else None)
        shares[key] = shares.get(key, 0.0) + (share or 0.0)
        if shares[key] > 100.0 + _SLACK_PCT:
            problem = f"the shares of {mineral} sum to {shares[key]:.6g} %"
            raise row.error(problem, "share_pct", "At most 100")
        if size is not None and thickness is not None and thickness > size:
            problem = f"a flake {thickness:g} um thick and {size:g} um wide"
            raise row.error(problem, "thickness_um", "Swapped?")
        textures.append(
            Texture(
                mineral=mineral,
                host=host,
                form=form,
                share_pct=share,
                grain_size_um=size,
                thickness_um=thickness,
                passing_um=bounds[0] if bounds else None,
                retained_um=bounds[1] if bounds else None,
                words=words,
                place=row.place("mineral"),
            )
        )
    return tuple(textures), tuple(notes)
