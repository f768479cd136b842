"""From a mineral formula to weight per cents of oxides and elements: the only door to pymatgen."""

from __future__ import annotations

import re
from functools import lru_cache
from math import isclose

from feedchar.errors import InputError

_TOKEN = re.compile(r"([A-Z][a-z]?|[()\[\]{}])(\d+(?:\.\d+)?|\.\d+)?")
_HYDRATE = re.compile(r"^(\d+(?:\.\d+)?)?(.+)$")
_FULL_STOP = re.compile(
    r"(?<=[A-Za-z)\]}])\.|(?<=[A-Za-z)\]}]\d)\.(?=\d*[A-Z])|(?<=[A-Za-z)\]}]\d\d)\.(?=\d*[A-Z])"
)
_BRACKETS = {"(": ")", "[": "]", "{": "}"}
_DOTS = "·•*∙⋅"

_OXIDE_OF = {
    "H": ("H2O", 2, 1), "Li": ("Li2O", 2, 1), "Be": ("BeO", 1, 1), "B": ("B2O3", 2, 3),
    "C": ("CO2", 1, 2), "Na": ("Na2O", 2, 1), "Mg": ("MgO", 1, 1), "Al": ("Al2O3", 2, 3),
    "Si": ("SiO2", 1, 2), "P": ("P2O5", 2, 5), "S": ("SO3", 1, 3), "K": ("K2O", 2, 1),
    "Ca": ("CaO", 1, 1), "Sc": ("Sc2O3", 2, 3), "Ti": ("TiO2", 1, 2), "V": ("V2O5", 2, 5),
    "Cr": ("Cr2O3", 2, 3), "Mn": ("MnO", 1, 1), "Co": ("CoO", 1, 1), "Ni": ("NiO", 1, 1),
    "Cu": ("CuO", 1, 1), "Zn": ("ZnO", 1, 1), "Ga": ("Ga2O3", 2, 3), "Ge": ("GeO2", 1, 2),
    "As": ("As2O5", 2, 5), "Rb": ("Rb2O", 2, 1), "Sr": ("SrO", 1, 1), "Y": ("Y2O3", 2, 3),
    "Zr": ("ZrO2", 1, 2), "Nb": ("Nb2O5", 2, 5), "Mo": ("MoO3", 1, 3), "Sn": ("SnO2", 1, 2),
    "Sb": ("Sb2O5", 2, 5), "Cs": ("Cs2O", 2, 1), "Ba": ("BaO", 1, 1), "La": ("La2O3", 2, 3),
    "Ce": ("Ce2O3", 2, 3), "Pr": ("Pr2O3", 2, 3), "Nd": ("Nd2O3", 2, 3), "Sm": ("Sm2O3", 2, 3),
    "Eu": ("Eu2O3", 2, 3), "Gd": ("Gd2O3", 2, 3), "Tb": ("Tb2O3", 2, 3), "Dy": ("Dy2O3", 2, 3),
    "Ho": ("Ho2O3", 2, 3), "Er": ("Er2O3", 2, 3), "Tm": ("Tm2O3", 2, 3), "Yb": ("Yb2O3", 2, 3),
    "Lu": ("Lu2O3", 2, 3), "Hf": ("HfO2", 1, 2), "Ta": ("Ta2O5", 2, 5), "W": ("WO3", 1, 3),
    "Pb": ("PbO", 1, 1), "Bi": ("Bi2O3", 2, 3), "Th": ("ThO2", 1, 2), "U": ("UO2", 1, 2),
}  # fmt: skip
"""Oxide by which each element is reported: its name, cations and oxygens."""

_ANIONS = ("O", "F", "Cl", "S")
_KNOWN = frozenset(_OXIDE_OF) | {"O", "F", "Cl", "Fe"}
_SIMPLE = frozenset(name for name, _, _ in _OXIDE_OF.values()) | {"FeO", "Fe2O3"}


def _refuse(formula: object, why: str, remedy: str) -> InputError:
    shown = repr(formula)
    shown = shown if len(shown) <= 60 else shown[:57] + "..."
    return InputError(f"formula {shown} {why}", remedy=remedy)


def _parts(formula: str) -> list[str]:
    """Split hydrate dots; a full stop between digits is a decimal point unless oxides follow."""
    for dot in _DOTS:
        formula = formula.replace(dot, "·")
    if "·" not in formula and "." in formula:
        pieces = _FULL_STOP.split(formula)
        oxides = [_HYDRATE.match(piece) for piece in pieces[1:]]
        if pieces[0] and all(m is not None and m[2] in _SIMPLE for m in oxides):
            return pieces
        return [formula]
    return formula.split("·")


@lru_cache(maxsize=2048)
def _amounts(formula: str) -> tuple[tuple[str, float], ...]:
    """Atoms of each element in a formula, checked before pymatgen sees it."""
    remedy = "Write element symbols with their amounts, such as KAlSi3O8 or CaSO4·2H2O."
    text = "".join(formula.split())
    if not text or len(text) > 200:
        raise _refuse(formula, "is empty or too long", remedy)
    total: dict[str, float] = {}
    parts = _parts(text)
    for number, part in enumerate(parts):
        match = _HYDRATE.match(part) if number else re.match(r"^()(.+)$", part)
        if match is None:
            raise _refuse(formula, "has an empty part beside a dot", remedy)
        factor = float(match[1] or 1)
        for symbol, amount in _atoms(formula, match[2], remedy).items():
            total[symbol] = total.get(symbol, 0.0) + factor * amount
    _check_elements(formula, total, remedy)
    return tuple(sorted(total.items()))


def _atoms(formula: str, part: str, remedy: str) -> dict[str, float]:
    from pymatgen.core import Composition  # 0.2 s to import, so only when a formula is read

    tokens = list(_TOKEN.finditer(part))
    if sum(len(t[0]) for t in tokens) != len(part):
        raise _refuse(formula, "cannot be read", remedy)
    open_brackets: list[str] = []
    for token in tokens:
        if token[1] in _BRACKETS:
            open_brackets.append(_BRACKETS[token[1]])
            if token[2]:
                raise _refuse(formula, "has a number after an opening bracket", remedy)
        elif token[1] in ")]}":
            if not open_brackets or open_brackets.pop() != token[1]:
                raise _refuse(formula, "has brackets that do not match", remedy)
        elif token[1] not in _KNOWN:
            raise _refuse(formula, f'has "{token[1]}", which no mineral here is made of', remedy)
        if token[2] and not float(token[2]) > 0:
            raise _refuse(formula, "has an amount of zero", remedy)
    if open_brackets:
        raise _refuse(formula, "has brackets that do not match", remedy)
    try:
        return {str(k): float(v) for k, v in Composition(part).get_el_amt_dict().items()}
    except (ValueError, TypeError, KeyError) as error:
        raise _refuse(formula, "cannot be read", remedy) from error


def _check_elements(formula: str, total: dict[str, float], remedy: str) -> None:
    if len(total) > 1 and not any(anion in total for anion in _ANIONS):
        raise _refuse(formula, "has no oxygen, sulphur, fluorine or chlorine", remedy)
    if set(total) <= {"O", "F", "Cl"}:
        raise _refuse(formula, "has no metal or silicon", remedy)


def _mass(symbol: str) -> float:
    from pymatgen.core import Element

    return float(Element(symbol).atomic_mass)


@lru_cache(maxsize=256)
def _oxide_mass(cation: str, cations: int, oxygens: int) -> float:
    return cations * _mass(cation) + oxygens * _mass("O")


def atoms_of(formula: str) -> dict[str, float]:
    """Atoms of each element in a formula.

    Parameters
    ----------
    formula : str
        Chemical formula; hydrate dots and fractional amounts are understood. [-]

    Returns
    -------
    dict of str to float
        Element symbol to its atoms a formula, sorted by symbol. [-]

    Raises
    ------
    InputError
        The formula cannot be read, or is not that of a mineral.

    References
    ----------
    By definition of the records of this room.
    """
    return dict(_amounts(_text(formula)))


def molar_mass(formula: str) -> float:
    """Mass of a mole of a formula.

    Parameters
    ----------
    formula : str
        Chemical formula. [-]

    Returns
    -------
    float
        Molar mass. [g mol⁻¹]

    Raises
    ------
    InputError
        The formula cannot be read, or is not that of a mineral.

    References
    ----------
    Atomic masses of pymatgen (IUPAC).
    """
    return sum(amount * _mass(symbol) for symbol, amount in _amounts(_text(formula)))


def element_wt_pct(formula: str) -> dict[str, float]:
    """Weight per cent of each element of a formula.

    Parameters
    ----------
    formula : str
        Chemical formula; hydrate dots and fractional amounts are understood. [-]

    Returns
    -------
    dict of str to float
        Element symbol to its share; sums to 100. [wt %]

    Raises
    ------
    InputError
        The formula cannot be read, or is not that of a mineral.

    References
    ----------
    Atomic masses of pymatgen (IUPAC); checked against composition_checks.csv.
    """
    amounts = dict(_amounts(_text(formula)))
    masses = {symbol: amount * _mass(symbol) for symbol, amount in amounts.items()}
    whole = sum(masses.values())
    return {symbol: 100.0 * mass / whole for symbol, mass in masses.items()}


def _text(formula: object) -> str:
    if not isinstance(formula, str):
        raise _refuse(formula, "is not text", "Write a chemical formula such as SiO2.")
    return formula


def _iron_states(formula: str, iron: str | dict[str, float], atoms: float) -> dict[str, float]:
    """Atoms of Fe2+ and Fe3+ in the formula."""
    if iron == "Fe2O3":
        return {"Fe2+": 0.0, "Fe3+": atoms}
    if iron == "FeO":
        return {"Fe2+": atoms, "Fe3+": 0.0}
    if not isinstance(iron, dict) or not set(iron) <= {"Fe2+", "Fe3+"}:
        raise _refuse(
            formula,
            f"cannot take iron as {iron!r}",
            'Use "Fe2O3", "FeO" or {"Fe2+": 1, "Fe3+": 2}.',
        )
    given = {ion: float(iron.get(ion, 0.0)) for ion in ("Fe2+", "Fe3+")}
    if min(given.values()) < 0 or not isclose(sum(given.values()), atoms, abs_tol=2e-3):
        raise _refuse(
            formula,
            f"has {atoms:g} atoms of iron but {sum(given.values()):g} were given",
            "The ions must add up to the iron of the formula.",
        )
    return given


def oxide_wt_pct(formula: str, iron: str | dict[str, float] = "Fe2O3") -> dict[str, float]:
    """Weight per cent of each oxide of a formula.

    Parameters
    ----------
    formula : str
        Chemical formula; hydrate dots and fractional amounts are understood. [-]
    iron : str or dict of str to float
        "Fe2O3" or "FeO" for all iron so expressed, or atoms of "Fe2+" and "Fe3+" a formula. [-]

    Returns
    -------
    dict of str to float
        Oxide name to weight per cent. Volatile and anionic parts are H2O, CO2, SO3, F, Cl, and
        `less O`, the negative oxygen that F and Cl replace. Sums to 100 where the metals are
        in the states shown; Fe2+ counted as Fe2O3, metals and sulphides (S stays S) gain the
        oxygen they lack and sum to more. [wt %]

    Raises
    ------
    InputError
        The formula cannot be read, or the iron ions do not add up.

    References
    ----------
    Atomic masses of pymatgen (IUPAC); checked against composition_checks.csv.
    """
    text = _text(formula)
    amounts = dict(_amounts(text))
    whole = sum(amount * _mass(symbol) for symbol, amount in amounts.items())
    out: dict[str, float] = {}
    states = _iron_states(text, iron, amounts.get("Fe", 0.0))
    if "Fe" in amounts:
        if states["Fe2+"] > 0:
            out["FeO"] = states["Fe2+"] * _oxide_mass("Fe", 1, 1)
        if states["Fe3+"] > 0 or "FeO" not in out:
            out["Fe2O3"] = states["Fe3+"] / 2 * _oxide_mass("Fe", 2, 3)
    oxygen_replaced = 0.0
    for symbol, amount in amounts.items():
        if symbol in ("F", "Cl"):
            out[symbol] = amount * _mass(symbol)
            oxygen_replaced += amount / 2
        elif symbol in ("S", "C") and "O" not in amounts:
            out[symbol] = amount * _mass(symbol)
        elif symbol in _OXIDE_OF:
            name, cations, oxygens = _OXIDE_OF[symbol]
            out[name] = amount / cations * _oxide_mass(symbol, cations, oxygens)
    if oxygen_replaced > 0:
        out["less O"] = -oxygen_replaced * _mass("O")
    return {name: 100.0 * mass / whole for name, mass in out.items()}
