"""What is asked of the product: a key of the tables, figures, or both."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from feedchar.errors import FeedcharError, InputError
from feedchar.sample.cells import CellProblem, read_number
from feedchar.sample.decimals import POINT
from feedchar.sample.iron import as_fe2o3
from feedchar.sample.names import closest, heading_key
from feedchar.sample.oxides import (
    IRON_PLAIN,
    OXIDE_NAMES,
    OxideReading,
    element_as_oxide,
    oxide_heading,
    oxide_name,
)
from feedchar.sample.records import Limit, Place
from feedchar.sample.shown import shown
from feedchar.tables.limits import product_limit
from feedchar.tables.sieves import sieve_opening_um
from feedchar.units import PPM_PER_WT_PCT

PLAIN_KEYS = ("use", "yield_min_pct", "specks_per_100_g_max", "passing_um", "retained_um")
_KEY = re.compile(r"(?i)(?P<oxide>.+)_(?P<end>max|min)_(?P<unit>wt_pct|pct|ppm)")


@dataclass(frozen=True)
class Demand:
    """One key of a limit with its value and place."""

    key: str
    value: float | str
    place: Place

    def error(self, problem: str, remedy: str = "") -> InputError:
        """Error that names the place of this demand."""
        place = self.place
        return InputError(
            problem, file=place.file, row=place.row, column=place.column, remedy=remedy
        )


def limit_key(text: str) -> str | None:
    """Canonical form of a key of a limit.

    Parameters
    ----------
    text : str
        Key such as `Fe2O3_max_pct`. [-]

    Returns
    -------
    str or None
        `oxide max pct` or a plain key; None when unknown. [-]

    Examples
    --------
    >>> limit_key("fe2o3_max_pct"), limit_key("Yield_min_pct"), limit_key("colour")
    ('Fe2O3_max_pct', 'yield_min_pct', None)
    """
    key = heading_key(text)
    if key in PLAIN_KEYS:
        return key
    match = _KEY.fullmatch(text.strip())
    name = oxide_name(match["oxide"]) if match else None
    if match is None or name is None:
        return None
    unit = "ppm" if match["unit"].lower() == "ppm" else "pct"
    return f"{name}_{match['end'].lower()}_{unit}"


def known_keys() -> list[str]:
    """Keys that a limit may hold, the usual ones.

    Returns
    -------
    list of str
        For messages and near misses. [-]
    """
    return [*PLAIN_KEYS, *(f"{name}_{end}_pct" for name in OXIDE_NAMES for end in ("max", "min"))]


def make_limit(demands: Sequence[Demand]) -> Limit:
    """A limit from its keys; figures given go before those of a named use.

    Parameters
    ----------
    demands : sequence of Demand
        Keys in canonical form, in reading order. [-]

    Returns
    -------
    Limit
        What is asked; iron as Fe2O3. [wt %]

    Raises
    ------
    InputError
        For an unknown use, a figure out of range, one thing asked twice, or a minimum above
        its maximum.
    """
    plain: dict[str, float] = {}
    bounds: dict[str, dict[str, float]] = {"max": {}, "min": {}}
    named: dict[str, dict[str, float]] = {"max": {}, "min": {}}
    use = None
    for demand in demands:
        if demand.key == "use":
            use = str(demand.value)
            try:
                row = product_limit(use)
            except FeedcharError as error:
                raise demand.error(str(error)) from None
            use = row.key
            named = {"max": dict(row.max_wt_pct), "min": dict(row.min_wt_pct)}
        elif demand.key in PLAIN_KEYS:
            plain[demand.key] = _plain(demand)
        else:
            oxide, end, value = _oxide(demand)
            if oxide in bounds[end]:
                problem = f"{oxide} has two limits of one kind"
                raise demand.error(problem, "Keep one")
            bounds[end][oxide] = value
            _check_ends(demand, oxide, bounds)
    passing, retained = plain.get("passing_um"), plain.get("retained_um")
    if passing is not None and retained is not None and passing <= retained:
        problem = f"the size window passes {passing:g} and is retained on {retained:g} um: reversed"
        raise demands[-1].error(problem)
    return Limit(
        use=use,
        max_wt_pct=named["max"] | bounds["max"],
        min_wt_pct=named["min"] | bounds["min"],
        yield_min_pct=plain.get("yield_min_pct"),
        specks_per_100_g_max=plain.get("specks_per_100_g_max"),
        passing_um=passing,
        retained_um=retained,
    )


def _plain(demand: Demand) -> float:
    value = demand.value
    if demand.key.endswith("_um"):
        try:
            return sieve_opening_um(value)
        except FeedcharError as error:
            raise demand.error(str(error)) from None
    assert isinstance(value, float)
    high = 100.0 if demand.key == "yield_min_pct" else 1e9
    if not 0 <= value <= high:
        problem = f"must be 0 to {high:g}; found {value:g}"
        raise demand.error(problem)
    if demand.key == "yield_min_pct" and 0.0 < value <= 1.0:
        problem = f"a yield of {value:g} % is hardly meant"
        raise demand.error(problem, f"Per cent, not a fraction: {100.0 * value:g}")
    return value


def _oxide(demand: Demand) -> tuple[str, str, float]:
    name, end, unit = demand.key.rsplit("_", 2)
    assert isinstance(demand.value, float)
    value = demand.value / (PPM_PER_WT_PCT if unit == "ppm" else 1.0)
    if not 0 < value <= 100:
        problem = f"must be above 0 and at most 100 %; found {value:g}"
        raise demand.error(
            problem,
            "Percent is meant: ppm divided by 10 000" if value > 100 else "",
        )
    reading = OxideReading(name, value)
    if name.split("_")[0] in IRON_PLAIN:
        if name in ("FeO_ferrous", "Fe2O3_ferric"):
            problem = "a limit is on all iron"
            raise demand.error(problem, "Name it Fe2O3, FeO or Fe")
        reading = as_fe2o3(reading)
    reading = element_as_oxide(reading)
    return reading.name, end, reading.value


def _check_ends(demand: Demand, oxide: str, bounds: dict[str, dict[str, float]]) -> None:
    most, least = bounds["max"].get(oxide), bounds["min"].get(oxide)
    if most is not None and least is not None and least > most:
        problem = f"{oxide} must be at least {least:g} and at most {most:g} %"
        raise demand.error(problem)


def parse_limit(text: str) -> Limit:
    """A limit from the command line.

    Parameters
    ----------
    text : str
        A key of the product limits, figures such as `Fe2O3=0.05,TiO2=0.03`, or both, separated
        by commas. `Fe2O3=0.05` is a maximum and `yield=90` a minimum; `SiO2>=98.8` and the keys
        of `[limit]` say which. [-]

    Returns
    -------
    Limit
        What is asked; iron as Fe2O3. [wt %]

    Raises
    ------
    InputError
        For an unknown key, a figure that is none, or an end that is not said.

    Examples
    --------
    >>> parse_limit("Fe2O3=0.05,TiO2=0.03").max_wt_pct
    {'Fe2O3': 0.05, 'TiO2': 0.03}
    """
    parts = [part.strip() for part in text.split(",")]
    if not text.strip():
        problem = "the limit is empty"
        raise InputError(problem, file="--limit", remedy="A key, or figures such as Fe2O3=0.05")
    return make_limit([_demand(part, text) for part in parts])


_WORDS = {"yield": "yield_min_pct", "specks": "specks_per_100_g_max"}


def _demand(part: str, text: str) -> Demand:
    place = Place(file="--limit")
    match = re.fullmatch(r"(?P<key>[^<>=]*?)\s*(?P<sign><=|>=|=|<|>)\s*(?P<value>[^<>=]*)", part)
    if match is None:
        if re.fullmatch(r"[0-9]+", part):
            problem = f"{shown(text)} seems to hold a decimal comma"
            raise InputError(problem, file="--limit", remedy="Write points: Fe2O3=0.05")
        if oxide_heading(re.split(r"[\s:]", part, maxsplit=1)[0]) is not None:
            problem = f"{shown(part)} has no sign"
            raise InputError(problem, file="--limit", remedy="Figures are such as Fe2O3=0.05")
        return Demand("use", part, place)
    key = _key_of(match["key"], match["sign"])
    if key == "use" or key.endswith("_um"):
        return Demand(key, match["value"].strip(), place)
    if match["value"].strip().lower().endswith("ppm"):
        problem = f"{shown(match['value'])} carries a unit"
        asked = f"{match['key']}_ppm{match['sign']}{match['value'].strip()[:-3].strip()}"
        remedy = f"Write {shown(asked)}, or per cent"
        raise InputError(problem, file="--limit", remedy=remedy)
    try:
        value = read_number(match["value"].strip(), POINT, percent=True)
    except CellProblem as error:
        raise InputError(error.problem, file="--limit", remedy=error.remedy) from None
    return Demand(key, value, place)


def _key_of(word: str, sign: str) -> str:
    end = {"<": "max", ">": "min"}.get(sign[0])
    known = limit_key(_WORDS.get(heading_key(word), word))
    if known is not None:
        said = "max" if "_max" in known else "min"
        if end is not None and known != "use" and said != end and not known.endswith("_um"):
            problem = f"{shown(word)} is asked with {shown(sign)}"
            raise InputError(problem, file="--limit", remedy=f"It is a {said}imum: write =")
        return known
    heading = oxide_heading(word)
    if heading is None:
        problem = f"{shown(word)} is not known in a limit"
        names = [*OXIDE_NAMES, *IRON_PLAIN, *_WORDS]
        raise InputError(problem, file="--limit", remedy=closest(word, names))
    if end is None and heading.name == "SiO2":
        problem = "SiO2 with = may be a minimum or a maximum"
        raise InputError(problem, file="--limit", remedy="Write SiO2>=98.8, or SiO2_min_pct=98.8")
    unit = "ppm" if heading.per_wt_pct > 1 else "pct"
    return f"{heading.name}_{end or 'max'}_{unit}"
