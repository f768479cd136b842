"""Classical calculations from an analysis to minerals: rational analysis and the CIPW norm."""

from __future__ import annotations

from feedchar.chemistry.formula import molar_mass, oxide_wt_pct

ORTHOCLASE, ALBITE, ANORTHITE = "K2OAl2O3(SiO2)6", "Na2OAl2O3(SiO2)6", "CaOAl2O3(SiO2)2"
KAOLINITE, MUSCOVITE = "Al2O3(SiO2)2(H2O)2", "K2O(Al2O3)3(SiO2)6(H2O)2"
NEPHELINE = "Na2OAl2O3(SiO2)2"


def oxide_factor(formula: str, oxide: str) -> float:
    """Mass of mineral that one mass of an oxide makes.

    Parameters
    ----------
    formula : str
        Formula of the mineral. [-]
    oxide : str
        Oxide that limits it. [-]

    Returns
    -------
    float
        Factor, such as 5.909 for K2O in potash feldspar. [-]

    References
    ----------
    Stoichiometry; checked against element_to_mineral.csv.
    """
    return 100.0 / oxide_wt_pct(formula)[oxide]


def rational_analysis(oxides_wt_pct: dict[str, float], clay: bool = False) -> dict[str, float]:
    """Minerals of a ceramic raw material from its analysis, in the classical order.

    Parameters
    ----------
    oxides_wt_pct : dict of str to float
        SiO2, Al2O3, K2O, Na2O, CaO; what is missing counts as none. [wt %]
    clay : bool
        True puts the potash into muscovite instead of orthoclase. [-]

    Returns
    -------
    dict of str to float
        orthoclase (or muscovite), albite, anorthite, kaolinite, quartz. Negative kaolinite or
        quartz is kept: it says that the analysis is not that of this mixture. [wt %]

    References
    ----------
    Andrews, Ceramic Tests and Calculations (procedure named in a stored lecture; from memory).
    """
    moles = {
        name: oxides_wt_pct.get(name, 0.0) / molar_mass(name)
        for name in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO")
    }
    k, na, ca = moles["K2O"], moles["Na2O"], moles["CaO"]
    potash, silica_of_potash, alumina_of_potash = (
        (MUSCOVITE, 6.0, 3.0) if clay else (ORTHOCLASE, 6.0, 1.0)
    )
    alumina = moles["Al2O3"] - alumina_of_potash * k - na - ca
    silica = moles["SiO2"] - silica_of_potash * k - 6.0 * na - 2.0 * ca - 2.0 * alumina
    return {
        "muscovite" if clay else "orthoclase": k * molar_mass(potash),
        "albite": na * molar_mass(ALBITE),
        "anorthite": ca * molar_mass(ANORTHITE),
        "kaolinite": alumina * molar_mass(KAOLINITE),
        "quartz": silica * molar_mass("SiO2"),
    }


def nepheline_split(oxides_wt_pct: dict[str, float]) -> dict[str, float]:
    """Rational analysis of a nepheline-bearing rock: soda between albite and nepheline.

    Parameters
    ----------
    oxides_wt_pct : dict of str to float
        SiO2, Al2O3, K2O, Na2O, CaO. [wt %]

    Returns
    -------
    dict of str to float
        orthoclase, albite, anorthite, nepheline, and spare Al2O3. [wt %]

    References
    ----------
    Silica left after orthoclase and anorthite shared by x(ab) = (Si' - 2 Na)/4: CIPW rules
    (derived).
    """
    moles = {
        name: oxides_wt_pct.get(name, 0.0) / molar_mass(name)
        for name in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO")
    }
    k, na, ca = moles["K2O"], moles["Na2O"], moles["CaO"]
    silica = moles["SiO2"] - 6.0 * k - 2.0 * ca
    albite = min(max((silica - 2.0 * na) / 4.0, 0.0), na)
    return {
        "orthoclase": k * molar_mass(ORTHOCLASE),
        "albite": albite * molar_mass(ALBITE),
        "anorthite": ca * molar_mass(ANORTHITE),
        "nepheline": (na - albite) * molar_mass(NEPHELINE),
        "spare Al2O3": (moles["Al2O3"] - k - na - ca) * molar_mass("Al2O3"),
    }


def cipw_norm(oxides_wt_pct: dict[str, float]) -> dict[str, float]:
    """CIPW norm of a silica- and alumina-saturated (granite-like) rock.

    Parameters
    ----------
    oxides_wt_pct : dict of str to float
        Oxides with Fe2O3 and FeO apart. [wt %]

    Returns
    -------
    dict of str to float
        Q, Or, Ab, An, C, Hy, Mt, Il, Ap (and Hm, Ru where iron oxides are in excess); Q is
        negative where silica does not suffice, which these rules do not go on from. [wt %]

    References
    ----------
    Rules of Cross, Iddings, Pirsson and Washington for saturated rocks, iron as analysed (from
    memory); checked against gomes_neiva_2005 and beard_1994.
    """
    names = ("SiO2", "TiO2", "Al2O3", "Fe2O3", "FeO", "MnO", "MgO", "CaO", "Na2O", "K2O", "P2O5")
    mole = {name: oxides_wt_pct.get(name, 0.0) / molar_mass(name) for name in names}
    manganese, ferrous = mole["MnO"], mole["FeO"] + mole["MnO"]
    apatite = min(mole["P2O5"], mole["CaO"] * 3.0 / 10.0)
    lime = mole["CaO"] - apatite * 10.0 / 3.0
    ilmenite = min(mole["TiO2"], ferrous)
    ferrous -= ilmenite
    k, na = mole["K2O"], mole["Na2O"]
    alumina = mole["Al2O3"] - k - na
    anorthite = min(max(alumina, 0.0), lime)
    corundum = alumina - anorthite
    magnetite = min(mole["Fe2O3"], ferrous)
    hematite, ferrous = mole["Fe2O3"] - magnetite, ferrous - magnetite
    hypersthene = mole["MgO"] + ferrous
    silica = mole["SiO2"] - 6.0 * (k + na) - 2.0 * anorthite - hypersthene
    total_ferrous = mole["FeO"] + manganese
    fe_share = mole["FeO"] / total_ferrous if total_ferrous > 0 else 1.0
    ferrous_mass = fe_share * molar_mass("FeO") + (1.0 - fe_share) * molar_mass("MnO")
    silicate = molar_mass("SiO2")
    norm = {
        "Q": silica * silicate,
        "Or": k * molar_mass(ORTHOCLASE),
        "Ab": na * molar_mass(ALBITE),
        "An": anorthite * molar_mass(ANORTHITE),
        "C": corundum * molar_mass("Al2O3"),
        "Hy": mole["MgO"] * (molar_mass("MgO") + silicate) + ferrous * (ferrous_mass + silicate),
        "Mt": magnetite * (molar_mass("Fe2O3") + ferrous_mass),
        "Il": ilmenite * (ferrous_mass + molar_mass("TiO2")),
        "Ap": apatite * (molar_mass("P2O5") + 10.0 / 3.0 * molar_mass("CaO")),
    }
    rutile = mole["TiO2"] - ilmenite
    extras = {"Hm": hematite * molar_mass("Fe2O3"), "Ru": rutile * molar_mass("TiO2")}
    return norm | {name: mass for name, mass in extras.items() if mass > 1e-9}
