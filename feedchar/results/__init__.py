"""The result of an assessment as frozen records; nothing here computes."""

from feedchar.results.characterisation import (
    Characterisation,
)
from feedchar.results.feed import (
    AgreementResult,
    AssayResult,
    Basis,
    InputFiles,
    IronLine,
    MeasuredOxide,
    MineralResult,
    OxideResidual,
    UnseenIron,
)
from feedchar.results.machine import (
    MachineRun,
    MachinesCompared,
    PassResult,
    ResponseLine,
    SearchedSetting,
    SettingResult,
)
from feedchar.results.product import (
    Answer,
    BestMeetingLimit,
    BestPair,
    BestPossible,
    CurvePoint,
    DirtiestFeed,
    LimitRow,
    MeasureNext,
    OutletResult,
    ProductResult,
    StayLine,
)

__all__ = [
    "AgreementResult",
    "Answer",
    "AssayResult",
    "Basis",
    "BestMeetingLimit",
    "BestPair",
    "BestPossible",
    "Characterisation",
    "CurvePoint",
    "DirtiestFeed",
    "InputFiles",
    "IronLine",
    "LimitRow",
    "MachineRun",
    "MachinesCompared",
    "MeasureNext",
    "MeasuredOxide",
    "MineralResult",
    "OutletResult",
    "OxideResidual",
    "PassResult",
    "ProductResult",
    "ResponseLine",
    "SearchedSetting",
    "SettingResult",
    "StayLine",
    "UnseenIron",
]
