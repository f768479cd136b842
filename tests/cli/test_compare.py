"""The command compare: what it finds, writes and refuses."""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from feedchar.cli.main import main

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "glass_sand_test"
FEW = ("--trials", "200")

Capture = pytest.CaptureFixture[str]


def document(capsys: Capture, folder: Path, *options: str) -> dict[str, Any]:
    assert main(["compare", str(folder), "--json", "-", *FEW, *options]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return json.loads(out)  # type: ignore[no-any-return]


def edited(tmp_path: Path, table: str, edit: Any) -> Path:
    """A copy of the example with the rows of one table changed."""
    folder = tmp_path / "copy"
    shutil.copytree(EXAMPLE, folder)
    with (folder / table).open(newline="", encoding="utf-8") as page:
        rows = list(csv.DictReader(page))
    names = list(rows[0])
    rows = edit(rows)
    with (folder / table).open("w", newline="", encoding="utf-8") as page:
        writer = csv.DictWriter(page, names)
        writer.writeheader()
        writer.writerows(rows)
    return folder


def relabelled(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """The two bags whose labels the example has exchanged, put right."""
    other = {"A-R1M": "A-R2M", "A-R2M": "A-R1M"}
    return [row | {"bag": other.get(row["bag"], row["bag"])} for row in rows]


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    place = tmp_path_factory.mktemp("compare")
    paths = [str(place / name) for name in ("a.json", "a.html", "a.xlsx", "tables")]
    kinds = ("--json", "--html", "--xlsx", "--csv")
    options = [word for pair in zip(kinds, paths, strict=True) for word in pair]
    assert main(["compare", str(EXAMPLE), *FEW, *options]) == 0
    return {"tree": json.loads((place / "a.json").read_text()), "place": place}


def test_who_handles_the_bags_is_warned_of_what_is_in_them(found: dict[str, Any]) -> None:
    assert "zircon" in found["tree"]["minerals"]
    page = (found["place"] / "a.html").read_text(encoding="utf-8")
    assert "Zircon may be radioactive" in page
    assert "Local codes and licensed practice" in page


def test_the_example_names_the_two_bags_whose_labels_are_exchanged(found: dict[str, Any]) -> None:
    tree = found["tree"]
    assert not tree["balance"]["closes"]
    named = [one for one in tree["mistakes"] if one["named"]]
    assert [(one["kind"], one["bags"]) for one in named] == [("labels swapped", ["A-R1M", "A-R2M"])]
    assert "A-R1M and A-R2M" in tree["answer"]
    assert tree["put_right"]["p_value"] > 0.01
    assert tree["verdict"] == "agrees"


def test_it_is_said_when_a_test_lies_closer_than_its_errors_allow(found: dict[str, Any]) -> None:
    page = " ".join((found["place"] / "a.html").read_text(encoding="utf-8").split())
    assert found["tree"]["agreement"][0]["p_value"] > 0.99
    assert "closer than their errors let one expect" in page


def test_with_the_labels_put_right_all_closes_and_nothing_is_named(
    capsys: Capture, tmp_path: Path
) -> None:
    tree = document(capsys, edited(tmp_path, "assays.csv", relabelled))
    assert tree["balance"]["closes"]
    assert not any(one["named"] for one in tree["mistakes"])
    assert tree["put_right"] is None
    assert tree["verdict"] == "agrees"


def test_every_key_is_described_for_developers_and_none_else(found: dict[str, Any]) -> None:
    def keys_of(tree: Any) -> set[str]:
        if isinstance(tree, dict):
            return set(tree) | {key for value in tree.values() for key in keys_of(value)}
        if isinstance(tree, list):
            return {key for item in tree for key in keys_of(item)}
        return set()

    from feedchar.report.document import plain
    from feedchar.results.calibration import CalibrationUsed
    from feedchar.results.comparison import Cause

    shown = keys_of(found["tree"]) | keys_of(plain(Cause("", "", 0.0, 0.0, False, "", 1.0)))
    shown |= keys_of(plain(CalibrationUsed("", "", "", 1, 0.0, 0.0, 1.0, 1e-8)))
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("<!-- document feedchar-compare/1 -->")[1].split("```")[1]
    assert shown == set(re.findall(r'"(\w+)"', section))


def test_page_workbook_and_tables_tell_the_same_answer(found: dict[str, Any]) -> None:
    place, answer = found["place"], found["tree"]["answer"]
    page = (place / "a.html").read_text(encoding="utf-8")
    assert "A-R1M and A-R2M are swapped" in page.replace("\u00a0", " ")
    assert (place / "a.xlsx").read_bytes()[:2] == b"PK"
    tables = {path.stem for path in (place / "tables").iterdir()}
    assert {"balance", "mistakes", "losses", "yields", "recoveries", "compared"} <= tables
    assert "A-R1M" in (place / "tables" / "mistakes.csv").read_text(encoding="utf-8")
    assert "swapped" in answer


@pytest.mark.parametrize("width", [80, 120])
def test_the_report_fits_the_screen_without_colour(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setenv("NO_COLOR", "1")
    assert main(["compare", str(EXAMPLE), "--trials", "20"]) == 0
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert all(len(line) <= width for line in out.splitlines())
    for heading in ("WHAT THE TEST SAYS", "DOES IT BALANCE", "MASS LOST", "WHERE IT WENT"):
        assert heading in out


def test_the_same_question_gives_the_same_bytes_whatever_the_order_of_rows(
    capsys: Capture, tmp_path: Path
) -> None:
    folder = edited(tmp_path, "tests.csv", lambda rows: rows[::-1])
    trees = [document(capsys, EXAMPLE), document(capsys, folder)]
    for tree in trees:
        del tree["input"]
    assert trees[0] == trees[1]


def test_a_lost_bag_is_told_by_the_mass(capsys: Capture, tmp_path: Path) -> None:
    def without(rows: list[dict[str, str]]) -> list[dict[str, str]]:
        return [row for row in rows if row["bag"] != "A-R1D"]

    folder = edited(tmp_path, "tests.csv", without)
    table = folder / "assays.csv"
    lines = table.read_text(encoding="utf-8").splitlines()
    table.write_text("\n".join(line for line in lines if "A-R1D" not in line) + "\n")
    tree = document(capsys, folder)
    lost = {one["from_bag"]: one for one in tree["losses"]}["A-DN"]
    assert lost["loss_pct"] > 3.0
    assert lost["severity"] == "warning"


Bad = list[dict[str, str]]


def _fed_from_nowhere(rows: Bad) -> Bad:
    return [row | {"from_bag": "A-X"} if row["bag"] == "A-R2M" else row for row in rows]


def _no_mass(rows: Bad) -> Bad:
    return [row | {"mass_g": ""} if row["bag"] == "A-R2M" else row for row in rows]


def _nothing_in_the_bag(rows: Bad) -> Bad:
    return [row | {"mass_g": "0"} if row["bag"] == "A-R2M" else row for row in rows]


def _in_a_circle(rows: Bad) -> Bad:
    return [row | {"from_bag": "A-R2N"} if row["bag"] == "A-DN" else row for row in rows]


def _two_speeds(rows: Bad) -> Bad:
    return [row | {"belt_speed_m_s": "1.9"} if row["bag"] == "B-M" else row for row in rows]


def _unknown_bag(rows: Bad) -> Bad:
    return [row | {"bag": "A-R3M"} if row["bag"] == "A-R2M" else row for row in rows]


@pytest.mark.parametrize(
    ("table", "edit", "told"),
    [
        ("tests.csv", _fed_from_nowhere, ["tests.csv", "row", "from_bag", "A-X"]),
        ("tests.csv", _no_mass, ["assays.csv", "row", "A-R2M", "a row with its mass"]),
        ("tests.csv", _nothing_in_the_bag, ["tests.csv", "row", "mass_g", "A-R2M"]),
        ("tests.csv", _in_a_circle, ["tests.csv", "row", "from_bag", "detour"]),
        ("tests.csv", _two_speeds, ["tests.csv", "row", "belt_speed_m_s", "1.9"]),
        ("assays.csv", _unknown_bag, ["assays.csv", "row", "bag", "A-R3M", "Is it"]),
    ],
)
def test_bags_that_do_not_hang_together_are_refused_and_nothing_is_written(
    capsys: Capture, tmp_path: Path, table: str, edit: Any, told: list[str]
) -> None:
    folder = edited(tmp_path, table, edit)
    target = tmp_path / "out.json"
    assert main(["compare", str(folder), "--json", str(target), "--trials", "20"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert all(word in err for word in told), err
    assert not target.exists()


def test_a_sample_without_tests_is_told_what_is_missing(capsys: Capture) -> None:
    assert main(["compare", str(ROOT / "examples" / "glass_sand"), "--trials", "20"]) == 2
    err = capsys.readouterr().err
    assert "tests.csv" in err
    assert "mass_g" in err


def test_nothing_is_written_over_a_file_without_force(capsys: Capture, tmp_path: Path) -> None:
    target = tmp_path / "kept.json"
    target.write_text("mine")
    assert main(["compare", str(EXAMPLE), "--json", str(target), "--trials", "20"]) == 2
    assert target.read_text() == "mine"


def test_names_from_the_tables_cannot_steer_a_terminal(capsys: Capture, tmp_path: Path) -> None:
    def hostile(rows: Bad) -> Bad:
        return [row | {"test": "B\u202e=1+1"} if row["test"] == "B" else row for row in rows]

    folder = edited(tmp_path, "tests.csv", hostile)
    tables = tmp_path / "tables"
    assert main(["compare", str(folder), "--csv", str(tables), "--trials", "20"]) == 0
    assert "\u202e" not in capsys.readouterr().out
    assert "\u202e" not in (tables / "compared.csv").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def sandy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example whose tests agree, but 150 g of each product went over with the magnetics."""
    folder = tmp_path_factory.mktemp("sandy") / "bag"
    shutil.copytree(ROOT / "examples" / "test_result", folder)
    tables = {}
    for name in ("tests", "assays"):
        with (folder / f"{name}.csv").open(newline="", encoding="utf-8") as page:
            tables[name] = list(csv.DictReader(page))
    carried, clean = 150.0, {}
    for row in tables["assays"]:
        clean[row["bag"], row["oxide"]] = float(row["value"])
    before = {row["bag"]: float(row["mass_g"]) for row in tables["tests"]}
    for row in tables["tests"]:
        sign = {"magnetics": 1.0, "non-magnetics": -1.0}.get(row["product"], 0.0)
        row["mass_g"] = f"{before[row['bag']] + sign * carried:.1f}"
    for row in tables["assays"]:
        bag, oxide = row["bag"], row["oxide"]
        if bag.endswith("M"):
            mixed = clean[bag, oxide] * before[bag] + clean[f"{bag[0]}N", oxide] * carried
            row["value"] = f"{mixed / (before[bag] + carried):.4f}"
    for name, rows in tables.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as page:
            writer = csv.DictWriter(page, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    return folder


def test_sand_carried_with_the_magnetics_differs_and_is_named_with_what_to_look_at(
    sandy: Path, capsys: Capture
) -> None:
    assert main(["compare", str(sandy), *FEW]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "The balance closes. The test differs from the prediction" in text
    assert "closer than their errors" not in text
    assert "more sand carried *" in text
    assert re.search(r"LIKELY CAUSE more sand carried: .* To settle it: static", text)


def test_without_trials_nobody_judges(sandy: Path, capsys: Capture) -> None:
    assert main(["compare", str(sandy), "--trials", "0"]) == 0
    assert "Without trials nobody can say" in " ".join(capsys.readouterr().out.split())
