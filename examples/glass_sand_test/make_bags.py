"""Writes tests.csv and assays.csv of this invented test beside this script, or into a folder given.

python examples/glass_sand_test/make_bags.py

The bags are those of one draw of the prediction, with errors of weighing, splitting and assay put
on; then the labels of two bags are exchanged on their way to the laboratory.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from feedchar.assembly.compare import feed_trials
from feedchar.assembly.tested import predict_tests
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Setting
from feedchar.sample.read import read_sample
from feedchar.sample.records import TestBag

HERE = Path(__file__).parent
SEED, DRAWS, TRUTH = 41, 30, 12
SWAPPED = ("A-R1M", "A-R2M")
OXIDES = {"Fe2O3": (0.02, 0.001), "TiO2": (0.02, 0.001), "Al2O3": (0.015, 0.003),
          "K2O": (0.015, 0.003)}  # fmt: skip
"""Relative error of an assay, and what is always there. [-, wt %]"""

# test, step, machine, fed from, bags by product, belt speed, edges in mm, kg/h
STEPS = [
    ("A", "drum", "weak drum", "A-F", {"magnetics": "A-DM", "non-magnetics": "A-DN"}, None, (),
     None),
    ("A", "roll 1", "permanent roll", "A-DN",
     {"magnetics": "A-R1M", "middlings": "A-R1D", "non-magnetics": "A-R1N"}, 1.6, (10, 25), 90),
    ("A", "roll 2", "permanent roll", "A-R1N",
     {"magnetics": "A-R2M", "non-magnetics": "A-R2N"}, 1.3, (10,), 90),
    ("B", "slow", "permanent roll", "B-F", {"magnetics": "B-M", "non-magnetics": "B-N"}, 1.2,
     (10,), 60),
    ("C", "fast", "permanent roll", "C-F", {"magnetics": "C-M", "non-magnetics": "C-N"}, 2.0,
     (10,), 100),
]  # fmt: skip
FED_G = {"A-F": 6000.0, "B-F": 2000.0, "C-F": 2000.0}
DUST = {"A-F": "A-U", "B-F": "B-U", "C-F": "C-U"}
DATES = {"A": "2024-09-17", "B": "2024-09-18", "C": "2024-09-18"}


def rows_of_tests(mass: dict[str, float]) -> list[dict[str, object]]:
    """Rows of tests.csv, in the order in which one works."""
    rows: list[dict[str, object]] = []
    for test, step, machine, source, made, speed, edges, rate in STEPS:
        told = {"belt_speed_m_s": speed, "feed_kg_h": rate, "belt_width_mm": 100 if rate else None}
        told |= dict(zip(("splitter_mm", "splitter_2_mm"), edges, strict=False))
        if source in FED_G:
            rows.append({"test": test, "bag": source, "from_bag": "feed", "product": "feed",
                         "mass_g": mass[source], "date": DATES[test]})  # fmt: skip
            rows.append({"test": test, "step": step, "bag": DUST[source], "from_bag": source,
                         "machine": machine, "product": "dust", "mass_g": mass[DUST[source]],
                         "date": DATES[test], **told})  # fmt: skip
        rows += [
            {"test": test, "step": step, "machine": machine, "from_bag": source, "bag": bag,
             "product": product, "mass_g": mass[bag], "date": DATES[test],
             "feed_temperature_c": 21, "roll_temperature_c": 23, **told}
            for product, bag in made.items()
        ]  # fmt: skip
    return rows


def main(folder: Path) -> None:
    """Write both tables."""
    sample = read_sample(str(HERE / "sample.toml"))
    plan = [
        TestBag(row["test"], row.get("step"), None, row.get("machine"), row["from_bag"],
                row["bag"], row["product"], 1.0, row.get("belt_speed_m_s"),
                *(None if row.get(key) is None else 1e-3 * row[key]
                  for key in ("splitter_mm", "splitter_2_mm")),
                row.get("feed_kg_h"),
                None if row.get("belt_width_mm") is None else 1e-3 * row["belt_width_mm"],
                feed_temperature_c=row.get("feed_temperature_c"),
                roll_temperature_c=row.get("roll_temperature_c"))
        for row in rows_of_tests(dict.fromkeys([b for s in STEPS for b in s[4].values()]
                                               + [*FED_G, *DUST.values()], 1.0))
    ]  # fmt: skip
    trials = feed_trials(sample, None, DRAWS, SEED)
    base = Setting(roll=read_roll(DEFAULT_ROLL), passes=())
    found = predict_tests(replace(sample, tests=tuple(plan)), trials, base)
    truth = {one.bag: one for one in found if one.share is not None}
    random = np.random.default_rng(SEED)
    mass = dict(FED_G)
    for source, dust in DUST.items():
        mass[dust] = round(FED_G[source] * 0.001 * random.uniform(0.5, 1.5), 1)
    for _, _, _, source, made, *_ in STEPS:
        whole = mass[source] - mass.get(DUST.get(source, ""), 0.0)
        kept = 1.0 - random.gamma(2.0, 0.0008)
        for bag in made.values():
            mass[bag] = round(whole * kept * float(truth[bag].share[TRUTH]), 1)
    assays = {}
    for bag, one in truth.items():
        if bag in FED_G:
            continue
        for oxide, (relative, least) in OXIDES.items():
            value = float(one.oxide(oxide)[TRUTH])
            value += (relative * value + least) * random.standard_normal()
            assays[bag, oxide] = max(round(value, 3), 0.001)
    first, second = SWAPPED
    other = {first: second, second: first}
    write(folder / "tests.csv", rows_of_tests(mass))
    rows = [
        {"bag": bag, "oxide": oxide, "value": assays[other.get(bag, bag), oxide],
         "unit": "wt_pct", "laboratory": "laboratory one", "method": "fused bead", "mill": "agate"}
        for bag, oxide in sorted(assays)
    ]  # fmt: skip
    write(folder / "assays.csv", rows)


def write(path: Path, rows: list[dict[str, object]]) -> None:
    """One table, columns in the order in which they first appear in any row."""
    names = list(dict.fromkeys(name for row in sorted(rows, key=len, reverse=True) for name in row))
    with path.open("w", newline="", encoding="utf-8") as page:
        table = csv.DictWriter(page, names, lineterminator="\n")
        table.writeheader()
        table.writerows(rows)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
