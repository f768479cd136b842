"""Where the work can hurt someone; never in place of local rules."""

from __future__ import annotations

from collections.abc import Iterable

from feedchar.report.blocks import Block, Words
from feedchar.report.words import capital_first
from feedchar.results import Characterisation

LAST_WORD = "Local codes and licensed practice rule over anything said here."

GENERAL = (
    "Strong magnets: keep away people with implants, and steel tools; mind your fingers. "
    "Rolls and belts have nip points: guard them, and stop before you reach in. "
    "Static sparks; hot sand burns, and above the magnet's limit ruins it."
)

QUARTZ_DUST = "Fine quartz dust harms the lungs for life: extract it, wet it, wear a fitted mask."

CHEMICALS = "Heavy liquids and acids are for trained laboratories only."

FIBROUS = "can be fibrous: have it looked at before anybody dries, sieves or crushes it."

RADIOACTIVE = "may be radioactive and gather in magnetics and sinks: survey them before storing."

_FIBRES = ("actinolite", "tremolite", "anthophyllite", "riebeckite", "grunerite", "amphibole")
_RADIATING = ("monazite", "allanite", "zircon", "xenotime", "thorite")
_WET_WORDS = ("acid", "heavy liquid", "sink", "leach")


def cautions_block(result: Characterisation) -> Block:
    """Cautions for this bag.

    Parameters
    ----------
    result : Characterisation
        The result: its phases and the measurements it proposes choose the sentences. [-]

    Returns
    -------
    Block
        Words only, never empty. [-]

    References
    ----------
    common practice, no source.
    """
    phases = [phase.mineral for phase in result.minerals]
    proposed = " ".join(step.measurement for step in result.measure_next)
    proposed += " ".join(line.remedy for line in result.iron_that_stays)
    return cautions_of(phases, proposed)


def cautions_of(phases: Iterable[str], proposed: str) -> Block:
    """Cautions for work on some phases, as a block with the last word.

    Parameters
    ----------
    phases : iterable of str
        Names of minerals. [-]
    proposed : str
        What is proposed to be done, in words. [-]

    Returns
    -------
    Block
        Words only, never empty. [-]

    References
    ----------
    common practice, no source.
    """
    parts = (Words(" ".join(caution_sentences(phases, proposed))), Words(LAST_WORD, "strong"))
    return Block("cautions", "TAKE CARE", parts)


def caution_sentences(phases: Iterable[str], proposed: str) -> list[str]:
    """Cautions for phases that are handled and work that is proposed.

    Parameters
    ----------
    phases : iterable of str
        Names of the phases. [-]
    proposed : str
        Everything that is to be done, in words. [-]

    Returns
    -------
    list of str
        Never empty; the last word is left to the caller. [-]

    References
    ----------
    common practice, no source.
    """
    known = list(phases)
    # Quartz that no method has named is still in the dust of a crushed rock.
    text = [GENERAL, QUARTZ_DUST]
    if any(word in proposed.casefold() for word in _WET_WORDS):
        text.append(CHEMICALS)
    for words, warning in ((_FIBRES, FIBROUS), (_RADIATING, RADIOACTIVE)):
        found = [phase for phase in known if any(word in phase for word in words)]
        if found:
            names = ", ".join(found)
            text.append(f"{capital_first(names)} {warning}")
    return text
