"""`plan` as a person runs it."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from feedchar.cli.main import main
from feedchar.sample.read import read_sample

ROOT = Path(__file__).parents[2]
SAND = str(ROOT / "examples" / "glass_sand")
FEW = ["--trials", "60"]


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def test_the_cautions_come_first(capsys):
    assert main(["plan", SAND, *FEW]) == 0
    out = capsys.readouterr().out
    headings = re.findall(r"^([A-Z][A-Z' ]{5,})(?:  .*)?$", out, flags=re.MULTILINE)
    assert headings[:2] == ["TAKE CARE", "IN SHORT"]
    for word in ("magnets", "dust", "Rolls", "X-rays", "Local codes"):
        assert word in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_heavy_liquids_and_acids_are_warned_of_only_where_they_are_planned():
    from feedchar.report.cautions import CHEMICALS, caution_sentences

    assert CHEMICALS not in caution_sentences(["quartz"], "roll, hand magnet")
    assert CHEMICALS in caution_sentences(["quartz"], "heavy-liquid sinks weighed")


def test_the_document_has_the_keys_that_are_written_down(capsys):
    assert main(["plan", SAND, *FEW, "--json", "-"]) == 0
    tree = json.loads(capsys.readouterr().out)
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("<!-- document feedchar-plan/1 -->")[1].split("```")[1]
    told = set(re.findall(r'"(\w+)"', section))

    def keys(value: object) -> set[str]:
        if isinstance(value, dict):
            return set(value).union(*(keys(one) for one in value.values()))
        if isinstance(value, list):
            return set().union(*(keys(one) for one in value))
        return set()

    elsewhere = {"input", "basis", "setting", "product_Fe2O3_wt_pct", "notes"}
    found = set(tree) | keys({key: tree[key] for key in set(tree) - elsewhere})
    assert found == told
    assert list(tree)[:2] == ["schema", "feedchar_version"]
    assert tree["schema"] == "feedchar-plan/1"


def test_the_folder_reads_back_and_takes_the_masses(tmp_path, capsys):
    folder = tmp_path / "test"
    assert (
        main(["plan", SAND, *FEW, "--write", str(folder), "--json", str(tmp_path / "p.json")]) == 0
    )
    tree = json.loads((tmp_path / "p.json").read_text())
    waiting = read_sample(folder)
    assert waiting.tests == ()
    assert waiting.determinations == ()
    codes = {note.code for note in waiting.notes}
    assert {"not-weighed", "not-assayed", "not-blanked"} <= codes
    blanks = [row for row in rows(folder / "diagnostics.csv") if row["treatment"] == "mill blank"]
    assert len(blanks) == len([line for line in tree["order"] if line["kind"] == "blank"]) == 2
    for command in ("check", "assess"):
        assert main([command, str(folder), "--trials", "20"]) == 0
        assert "TESTED" not in capsys.readouterr().out.replace("NOT TESTED", "")

    sheet = rows(folder / "tests.csv")
    expected = {bag["bag"]: bag for bag in tree["bags"]}
    assert [row["bag"] for row in sheet] == list(expected)
    for row in sheet:
        assert row["mass_g"] == ""
        row["mass_g"] = f"{expected[row['bag']]['expected_g'] or 1.0:.2f}"
    with (folder / "tests.csv").open("w", encoding="utf-8", newline="") as page:
        writer = csv.DictWriter(page, list(sheet[0]))
        writer.writeheader()
        writer.writerows(sheet)
    results = rows(folder / "assays.csv")
    for row in results:
        row["value"] = "0.02"
    with (folder / "assays.csv").open("w", encoding="utf-8", newline="") as page:
        writer = csv.DictWriter(page, list(results[0]))
        writer.writeheader()
        writer.writerows(results)
    blanked = (folder / "diagnostics.csv").read_text(encoding="utf-8")
    blanked = blanked.replace("mill blank,,,,", "mill blank,,,0.002,0.003")
    (folder / "diagnostics.csv").write_text(blanked, encoding="utf-8")
    filled = read_sample(folder)
    assert [one.treatment for one in filled.diagnostics].count("mill blank") == 2
    assert main(["compare", str(folder), "--trials", "20"]) == 0
    assert "WHAT THE TEST SAYS" in capsys.readouterr().out
    assert main(["assess", str(folder), "--trials", "20", "--belt-speed", "1.5"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "0.001 % Fe2O3 from the mill (blank) is taken off" in out
    assert "SEPARATION TESTED" in out
    assert [bag.bag for bag in filled.tests] == list(expected)
    speeds = {bag.bag: bag.belt_speed_m_s for bag in filled.tests}
    assert speeds == {name: bag["belt_speed_m_s"] for name, bag in expected.items()}
    assert len(filled.determinations) == len(results)
    kinds = {one.repeat_kind for one in filled.determinations}
    assert {"reread", "new bead", "new split"} <= kinds
    # The product that a repeated run makes again went on unassayed: its magnetics are repeated.
    again = [line for line in tree["order"] if line["kind"] == "new bag"]
    ordered = {line["bag"] for line in tree["order"] if line["kind"] == "first"}
    assert again
    for line in again:
        twins = [expected[line["bag"]], expected[line["repeat_of"]]]
        assert line["repeat_of"] in ordered
        assert twins[0]["product"] == twins[1]["product"] == "magnetics"
        assert twins[0]["splitter_m"] == twins[1]["splitter_m"]
        of = {(one.bag, one.repeat_of, one.repeat_kind) for one in filled.determinations}
        assert (line["bag"], line["repeat_of"], "new bag") in of


def test_a_repeated_run_says_whose_new_bag_it_is_and_stays_a_bag_of_its_own(tmp_path):
    from dataclasses import replace

    from feedchar.assembly.plan import plan
    from feedchar.field.rolls import read_roll
    from feedchar.field.setting import Pass, Setting
    from feedchar.report.plan_report import rows_of_assays
    from feedchar.results.plan import PlanOrder
    from feedchar.testwork.bag_assays import results_of
    from feedchar.testwork.campaign import campaign_of

    once = Setting(roll=read_roll("fine-100"), passes=(Pass(1.5),))
    made = plan(read_sample(str(ROOT / "examples" / "minimal.csv")), once, trials=0)
    kinds = (("first", "B1N", None), ("new bag", "C1N", "B1N"), ("new bag", "D1N", "X1N"))
    order = tuple(
        PlanOrder(k, bag, kind, other, 50.0, "agate", ("Fe2O3",), "", True)
        for k, (kind, bag, other) in enumerate(kinds)
    )
    lines = rows_of_assays(replace(made, order=order))
    assert [(row["repeat_of"], row["repeat_kind"]) for row in lines] == [
        ("", ""), ("B1N", "new bag"), ("", ""),
    ]  # fmt: skip

    folder = tmp_path / "runs"
    folder.mkdir()
    (folder / "minerals.csv").write_text("mineral,mass_pct\nquartz,99\nbiotite,1\n")
    (folder / "tests.csv").write_text(
        "test,repeat,machine,bag,product,mass_g,belt_speed_m_s\n"
        "T,1,roll,B1M,magnetics,20,1.5\nT,1,roll,B1N,non-magnetics,980,1.5\n"
        "T,2,roll,C1M,magnetics,22,1.5\nT,2,roll,C1N,non-magnetics,978,1.5\n"
    )
    head = "bag,oxide,value,unit,repeat_of,repeat_kind\n"
    late = "C1N,Fe2O3,0.024,wt_pct,B1N,new bag\n"
    # The repeat may come back from the laboratory first.
    (folder / "assays.csv").write_text(head + "B1N,Fe2O3,,wt_pct,,\n" + late)
    assert [one.bag for one in read_sample(folder).determinations] == ["C1N"]
    (folder / "assays.csv").write_text(head + "B1N,Fe2O3,0.02,wt_pct,,\n" + late)
    sample = read_sample(folder)
    own = {bag: [one.value for one in results_of(sample, bag, "Fe2O3")] for bag in ("B1N", "C1N")}
    assert own == {"B1N": [0.02], "C1N": [0.024]}
    campaign = campaign_of(sample)
    iron = dict(zip(campaign.bags.bag, campaign.bags.assay[:, 0], strict=True))
    assert (iron["B1N"], iron["C1N"]) == (0.02, 0.024)
    # One run's sd from a pair: 0.004 over the root of 2.
    (told,) = [note.text for note in campaign.notes if note.code == "run-repeated"]
    assert "0.02 % in B1N and 0.024 % in C1N; one run is known to sd 0.0028" in told


def test_a_folder_with_masses_in_it_is_never_replaced(tmp_path, capsys):
    folder = tmp_path / "test"
    assert main(["plan", SAND, "--trials", "0", "--write", str(folder)]) == 0
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    capsys.readouterr()
    for extra in ([], ["--force"]):
        assert main(["plan", SAND, "--trials", "0", "--write", str(folder), *extra]) == 2
        captured = capsys.readouterr()
        assert captured.out == ""
        assert captured.err.count("\n") == 1
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--relative-sd", "60"], "--relative-sd must be 0.1 to 30"),
        (["--write", SAND], "holds files that were read"),
        (["--write", "same", "--csv", "same"], "two outputs would have the same name"),
        (["--limit", "Fe203=0.05"], "Fe2O3"),
        (["--splitter-2-mm", "5"], "beyond the edge"),
        (["--roll", "no-such-roll"], "no-such-roll"),
    ],
)
def test_options_that_cannot_be_are_told_in_one_line(options, words, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["plan", SAND, "--trials", "0", *options]) == 2
    captured = capsys.readouterr()
    assert words in captured.err
    assert captured.err.count("\n") == 1
    assert captured.out == ""
    assert list(tmp_path.iterdir()) == []


def test_a_bag_whose_mass_is_no_number_is_named(tmp_path, capsys):
    folder = tmp_path / "test"
    assert main(["plan", SAND, "--trials", "0", "--write", str(folder)]) == 0
    text = (folder / "tests.csv").read_text()
    (folder / "tests.csv").write_text(text.replace("A,feed,,", "A,feed,heavy,", 1))
    capsys.readouterr()
    assert main(["check", str(folder), "--trials", "0"]) == 2
    told = capsys.readouterr().err
    assert "tests.csv, row 2" in told
    assert "mass_g" in told


def test_the_same_seed_gives_the_same_bytes(tmp_path, capsys):
    for name in ("one", "two"):
        assert main(["plan", SAND, *FEW, "--json", str(tmp_path / name)]) == 0
    capsys.readouterr()
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()


def test_page_workbook_and_tables_are_sent_on(tmp_path, capsys):
    places = [str(tmp_path / name) for name in ("p.html", "p.xlsx", "tables")]
    options = [word for pair in zip(("--html", "--xlsx", "--csv"), places, strict=True)
               for word in pair]  # fmt: skip
    assert main(["plan", SAND, *FEW, *options]) == 0
    assert capsys.readouterr().err.count("feedchar: wrote ") == 3
    page = (tmp_path / "p.html").read_text(encoding="utf-8")
    assert 'class="cards"' in page
    assert "http" not in re.sub(r'xmlns[^"]*"[^"]*"', "", page).replace("http-equiv", "")
    assert {path.stem for path in (tmp_path / "tables").iterdir()} >= {
        "masses", "grains", "programme", "splits", "bags", "order",
    }  # fmt: skip
    assert (tmp_path / "p.xlsx").stat().st_size > 5000
