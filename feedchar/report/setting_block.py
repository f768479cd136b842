"""The setting, how it was found, and what else was tried."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.numbers import share, weight
from feedchar.report.readings import (
    typical,
)
from feedchar.report.setting_words import millimetres, setting_words
from feedchar.report.words import NO_BREAK
from feedchar.results import (
    Characterisation,
    MachineRun,
    MachinesCompared,
    SearchedSetting,
    SettingResult,
)

_CHOSEN = {
    "given": "as given; what was not given is the default",
    "default": "the default, as none was given",
    "searched": "chosen by the search below, as none was given",
}


def setting_block(result: Characterisation) -> Block:
    """The machine as assessed, and the settings that were tried.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        Words; a table where a search was made. [-]
    """
    setting = result.setting
    parts: list[Part] = [Words(setting_words(setting))]
    if result.searched:
        columns = (
            Column("speed, m/s", "number"),
            Column("edge, mm", "number"),
            Column("passes", "number"),
            Column("Fe2O3, wt %", "number"),
            Column("yield, %", "number"),
            Column(""),
        )
        best = [tried for tried in result.searched if tried.efficient or tried.chosen]
        best.sort(key=lambda tried: (-tried.yield_pct, tried.Fe2O3_wt_pct))
        shown = _around_the_chosen(best)
        parts.append(Table(columns, tuple(_searched_row(tried) for tried in shown)))
        text = (
            f"Typical case, the least loss first: {len(shown)} of {len(best)} settings that none "
            f"of {len(result.searched)} tried beats in both iron and loss."
        )
        parts.append(Words(text, "quiet"))
        buried = _buried(result)
        if buried is not None:
            parts.append(buried)
    if result.machines is not None:
        parts.append(Words(_machines(result.machines, setting), mark="Other machine"))
    return Block("setting", "SETTING", tuple(parts), _CHOSEN.get(setting.chosen_by, ""))


def _buried(result: Characterisation) -> Words | None:
    """Where magnetics bury each other, which the settings were compared without."""
    chosen = next((tried for tried in result.searched if tried.chosen), None)
    product = result.product.non_magnetics
    iron = typical(product.assay_wt_pct.get("Fe2O3"))
    kept = typical(product.yield_pct)
    if chosen is None or iron is None or kept is None:
        return None
    if (weight(iron), share(kept)) == (weight(chosen.Fe2O3_wt_pct), share(chosen.yield_pct)):
        return None
    text = (
        "Settings are compared as if magnetics did not bury each other on the belt; as they do, "
        f"the chosen one holds {weight(iron)}{NO_BREAK}% at a yield of {share(kept)}{NO_BREAK}%."
    )
    return Words(text, "quiet")


def _machines(compared: MachinesCompared, setting: SettingResult) -> str:
    """Both kinds of roll on this feed in one sentence."""
    speeds = [f"{one.belt_speed_m_s:g}" for one in setting.each_pass]
    own = " then ".join(speeds if len(set(speeds)) > 1 else [f"{setting.belt_speed_m_s:g}"])

    def told(run: MachineRun, speed: str) -> str:
        size = "no upper size"
        if run.top_size_m is not None:
            size = f"grains up to {millimetres(run.top_size_m)}"
        return (
            f"{run.machine.replace('-', ' ')} at {speed} m/s "
            f"{weight(run.Fe2O3_wt_pct)} % Fe2O3, yield {share(run.yield_pct)} %, sand lost "
            f"{share(run.sand_lost_pct)}, {size}"
        )

    return (
        f"{told(compared.other, f'{compared.other.belt_speed_m_s:g}')}; here "
        f"{told(compared.assessed, own)}. Typical case; the figures of an induced roll are guesses."
    )


def _around_the_chosen(best: list[SearchedSetting]) -> list[SearchedSetting]:
    """Both ends of the search and the neighbours of the chosen setting."""
    chosen = next((place for place, tried in enumerate(best) if tried.chosen), 0)
    kept = {0, chosen - 1, chosen, chosen + 1, len(best) - 1}
    return [tried for place, tried in enumerate(best) if place in kept]


def _searched_row(tried: SearchedSetting) -> Row:
    return Row(
        (
            f"{tried.belt_speed_m_s:g}",
            f"{1000 * tried.splitter_m:g}",
            f"{tried.passes}",
            weight(tried.Fe2O3_wt_pct),
            share(tried.yield_pct),
            "chosen" if tried.chosen else "",
        ),
        "strong" if tried.chosen else "plain",
    )
