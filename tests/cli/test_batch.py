"""The command `batch`: what it writes, what it refuses, and how it ends."""

from __future__ import annotations

import csv
import io

import pytest

from feedchar.batch.columns import ADDED
from feedchar.cli.main import main

TABLE = """\
sample,origin,quartz_mass_pct,orthoclase_mass_pct,biotite_mass_pct,ilmenite_mass_pct,core
a,as dug,80,17,2,1,one
b,as dug,oops,17,2,1,two
c,as dug,90,8.5,1,0.5,three
c,crushed rock,70,26,3,1,four
"""


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "cores.csv"
    path.write_text(TABLE, encoding="utf-8")
    return path


def batch(table, out, *options):
    return main(["batch", str(table), "--out", str(out), "--trials", "30", *options])


def rows_of(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_same_rows_come_back_with_every_column_of_the_contract(table, tmp_path, capsys):
    out = tmp_path / "answers.csv"
    assert batch(table, out, "--limit", "Fe2O3=0.5", "--belt-speed", "1.2") == 0
    rows = rows_of(out)
    assert list(rows[0]) == [*TABLE.splitlines()[0].split(","), *ADDED]
    assert [row["core"] for row in rows] == ["one", "two", "three", "four"]
    assert "oops" in rows[1]["notes"]
    assert rows[1]["product_yield_p50_pct"] == ""
    assert 0 <= float(rows[0]["chance_of_meeting_limit"]) <= 1
    assert rows[0]["assay_needed"] == "false"
    assert rows[3]["assay_needed"] == "true"
    assert rows[3]["chance_of_meeting_limit"] == ""
    low, middle, high = (
        float(rows[0][f"Fe2O3_predicted_{p}_wt_pct"]) for p in ("p05", "p50", "p95")
    )
    assert low < middle < high
    talk = capsys.readouterr()
    assert talk.out == ""
    assert "1 of 4 rows cannot be used" in talk.err
    assert "more than one row" in talk.err
    assert "\r" not in talk.err


def test_strict_stops_at_the_first_row_that_cannot_be_used(table, tmp_path, capsys):
    out = tmp_path / "answers.csv"
    assert batch(table, out, "--strict") == 2
    assert not out.exists()
    talk = capsys.readouterr().err
    assert "cores.csv, row 3" in talk
    assert "oops" in talk


def test_the_table_itself_and_a_file_that_exists_are_never_written(table, tmp_path, capsys):
    link = tmp_path / "link.csv"
    link.symlink_to(table)
    assert batch(table, table, "--force") == 2
    assert batch(table, link, "--force") == 2
    assert batch(table, tmp_path) == 2
    other = tmp_path / "kept.csv"
    other.write_text("mine")
    assert batch(table, other) == 2
    assert other.read_text() == "mine"
    assert table.read_text() == TABLE
    assert batch(table, other, "--force") == 0
    assert len(rows_of(other)) == 4


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("sample,quartz_mass_pct\n", "no rows"),
        ("sample,quartz_mass_pct,notes\na,100,x\n", "adds"),
        ('sample,quartz_mass_pct\n"a,100\n', "row"),
    ],
)
def test_a_table_that_cannot_be_used_ends_with_2_and_says_why(text, words, tmp_path, capsys):
    path = tmp_path / "cores.csv"
    path.write_text(text)
    assert batch(path, tmp_path / "out.csv") == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out.csv").exists()


def test_bytes_that_are_no_text_are_named(tmp_path, capsys):
    path = tmp_path / "cores.csv"
    path.write_bytes(b"sample,quartz_mass_pct\nG\xf6sta,100\n")
    assert batch(path, tmp_path / "out.csv") == 2
    assert "0xf6" in capsys.readouterr().err


def test_a_limit_on_what_is_not_computed_and_a_missing_cluster_end_with_2(table, tmp_path, capsys):
    out = tmp_path / "out.csv"
    assert batch(table, out, "--limit", "BaO=0.1") == 2
    assert "BaO" in capsys.readouterr().err
    assert not out.exists()


def test_parquet_in_and_out_keeps_types_and_agrees_with_csv(table, tmp_path):
    pa = pytest.importorskip("pyarrow")
    parquet = pytest.importorskip("pyarrow.parquet")
    good = [row for row in rows_of(table) if row["quartz_mass_pct"] != "oops"]
    text = tmp_path / "good.csv"
    with text.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(good[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(good)
    columns = {name: [row[name] for row in good] for name in good[0]}
    for name in columns:
        if name.endswith("_pct"):
            columns[name] = [float(x) for x in columns[name]]
    columns["hole"] = [1, 2, 3]
    source = tmp_path / "good.parquet"
    parquet.write_table(pa.table(columns), source)
    assert batch(text, tmp_path / "a.csv") == 0
    assert batch(source, tmp_path / "b.parquet") == 0
    made = parquet.read_table(tmp_path / "b.parquet")
    assert made.schema.field("hole").type == pa.int64()
    assert made.schema.field("quartz_mass_pct").type == pa.float64()
    assert made.schema.field("assay_needed").type == pa.bool_()
    for row, other in zip(rows_of(tmp_path / "a.csv"), made.to_pylist(), strict=True):
        for name in ("product_Fe2O3_p50_wt_pct", "Al2O3_predicted_p95_wt_pct"):
            assert float(row[name]) == pytest.approx(other[name], rel=1e-5)


def test_help_tells_the_columns(capsys):
    assert main(["batch", "--help"]) == 0
    text = capsys.readouterr().out
    assert "quartz_mass_pct" in text
    assert "--cluster" in text


def test_a_page_of_the_whole_table_is_written_beside_it(table, tmp_path, capsys):
    out, page = tmp_path / "answers.csv", tmp_path / "answers.html"
    rows = TABLE.splitlines()
    more = [f"<b>{n},as dug,{90 - n},{8.5 + n},1,0.5,x" for n in range(30)]
    table.write_text("\n".join([*rows, *more]) + "\n", encoding="utf-8")
    options = ("--limit", "Fe2O3=0.5", "--html", str(page), "--represent", "3", "--trials", "60")
    assert batch(table, out, *options) == 0
    text = page.read_text(encoding="utf-8")
    assert "3 samples stand for all" in text
    assert "&lt;b&gt;" in text
    assert "<b>0" not in text
    assert "oops" in text
    assert f"wrote {page}" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_page_that_cannot_be_written_is_refused_before_anything_is_computed(
    table, tmp_path, capsys
):
    out, page = tmp_path / "answers.csv", tmp_path / "answers.html"
    page.write_text("mine")
    assert batch(table, out, "--html", str(page)) == 2
    assert "exists" in capsys.readouterr().err
    assert batch(table, out, "--html", str(out)) == 2
    assert "same file" in capsys.readouterr().err
    assert batch(table, out, "--html", str(table), "--force") == 2
    assert page.read_text() == "mine"
    assert not out.exists()


def test_a_refusal_leaves_nothing_behind(table, tmp_path):
    assert batch(table, tmp_path / "out.csv", "--strict") == 2
    assert [path.name for path in tmp_path.iterdir()] == ["cores.csv"]


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_is_told_how_far_a_long_batch_is_and_how_long_it_will_take(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from feedchar.cli import batch

    screen, clock = _Terminal(), iter([0.0, 100.0, 200.0])
    monkeypatch.setattr(batch.sys, "stderr", screen)
    monkeypatch.setattr(batch.time, "monotonic", lambda: next(clock))
    told = batch._Progress()
    told(1000, 9000)  # an earlier run did these
    told(2000, 9000)
    told(3000, 9000)
    # 1000 rows in 100 s leave 7000 in 700 s; 2000 in 200 s leave 6000 in 600 s
    assert (
        screen.getvalue().split("\r")[1].strip() == "2000 of 9000 rows, 10 rows/s, 11 min 40 s left"
    )
    assert (
        screen.getvalue().split("\r")[2].strip() == "3000 of 9000 rows, 10 rows/s, 10 min 00 s left"
    )
    told.end()
    assert screen.getvalue().endswith("\r")


def test_nothing_is_told_where_no_terminal_listens(monkeypatch: pytest.MonkeyPatch) -> None:
    from feedchar.cli import batch

    page = io.StringIO()
    monkeypatch.setattr(batch.sys, "stderr", page)
    told = batch._Progress()
    told(1, 2)
    told(2, 2)
    told.end()
    assert page.getvalue() == ""
