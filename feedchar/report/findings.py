"""The findings of a result, in the order in which an engineer asks for them; no medium yet."""

from __future__ import annotations

from feedchar.report.answer_blocks import answer_block, balance_block, product_block, title_of
from feedchar.report.blocks import Block, Findings
from feedchar.report.cautions import cautions_block
from feedchar.report.check_blocks import agreement_block, made_of_block, settle_block
from feedchar.report.could_be_block import could_be_block
from feedchar.report.feed_blocks import feed_block
from feedchar.report.iron_blocks import iron_block
from feedchar.report.magnet_blocks import response_block
from feedchar.report.outlook_blocks import checks_block, doubt_block, next_block
from feedchar.report.setting_block import setting_block
from feedchar.report.stays_block import stays_block
from feedchar.report.taught_blocks import past_blocks, taught_blocks
from feedchar.results import Characterisation


def assess_findings(
    result: Characterisation,
    *,
    units: str = "trade",
    at_grade: float | None = None,
    at_yield: float | None = None,
) -> Findings:
    """The whole assessment.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    units : str
        trade (tesla and kilogauss) or si (tesla). [-]
    at_grade : float or None
        Product Fe2O3 whose yield is asked for. [wt %]
    at_yield : float or None
        Yield whose product Fe2O3 is asked for. [% of dry bag]

    Returns
    -------
    Findings
        The answer first, the cautions last. [-]
    """
    return _findings(
        result,
        answer_block(result),
        product_block(result),
        balance_block(result),
        *taught_blocks(result),
        *past_blocks(result),
        feed_block(result),
        iron_block(result),
        response_block(result, units),
        stays_block(result),
        could_be_block(result, at_grade, at_yield),
        setting_block(result),
        doubt_block(result),
        next_block(result),
        checks_block(result),
        cautions_block(result),
    )


def check_findings(result: Characterisation) -> Findings:
    """Only the feed: does it agree, which figure is suspect, what would settle it.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Findings
        Agreement, what it is made of, unseen iron, rules that tripped, cautions. [-]
    """
    return _findings(
        result,
        agreement_block(result),
        made_of_block(result),
        feed_block(result, fit=False),
        *taught_blocks(result),
        checks_block(result),
        settle_block(result),
        cautions_block(result),
    )


def stays_findings(
    result: Characterisation, *, at_grade: float | None = None, at_yield: float | None = None
) -> Findings:
    """Only the iron that stays, with what would remove it.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    at_grade : float or None
        Product Fe2O3 whose yield is asked for. [wt %]
    at_yield : float or None
        Yield whose product Fe2O3 is asked for. [% of dry bag]

    Returns
    -------
    Findings
        The lines in full, what could be, cautions. [-]
    """
    return _findings(
        result,
        answer_block(result),
        stays_block(result, full=True),
        could_be_block(result, at_grade, at_yield),
        cautions_block(result),
    )


def _findings(result: Characterisation, *blocks: Block) -> Findings:
    title, basis, facts = title_of(result)
    return Findings(title, basis, blocks, facts)
