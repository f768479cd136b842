"""A bag whose every name would steer what shows it, through everything that a run writes."""

from __future__ import annotations

import csv
import html
import io
import json
import os
import re
import unicodedata

import pytest
from nasty_bags import CIRCUIT, run, settings, table, tables, write_folder

from feedchar.errors import InputError
from feedchar.sample.read import read_sample

FORMULA = "=1+cmd|' /C calc'!A0"
MARKUP = "[red]x[/] <script>alert(1)</script> \x1b[31m \u202eevil \u200b{{7*7}}"
STEERING = ("Cc", "Cf", "Cs", "Co", "Cn")


def steers(text: str) -> list[str]:
    return sorted({ascii(c) for c in text if unicodedata.category(c) in STEERING and c != "\n"})


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Everything that one run writes of such a bag."""
    folder = tmp_path_factory.mktemp("hostile")
    phases = table("phases")
    phases[1][0] = "=2+2 <b>[blink]slag"
    minerals = table("minerals")
    minerals[1][1] = 96.5
    minerals.append([phases[1][0], 0.5])
    made = settings(top={"name": FORMULA, "note": MARKUP})
    bag = write_folder(folder / "bag", tables(minerals=minerals, phases=phases), made)
    outcome = run(
        "assess", str(bag), "--trials", "4", "--belt-speed", "1.5",
        "--html", str(folder / "page.html"), "--xlsx", str(folder / "book.xlsx"),
        "--csv", str(folder / "tables"), "--json", str(folder / "document.json"),
        compute=True,
    )  # fmt: skip
    assert outcome.code == 0, outcome.err
    return folder, outcome


def test_the_screen_shows_names_and_obeys_none(written):
    _, outcome = written
    assert "[blink]" in outcome.out
    assert "cmd|" in outcome.out
    assert steers(outcome.out + outcome.err) == []


def test_the_page_holds_no_tag_of_the_bag(written):
    folder, _ = written
    page = (folder / "page.html").read_text("utf-8")
    assert "<b>[blink]" not in page
    assert "<script>alert" not in page
    assert "[blink]slag" in html.unescape(page)
    assert steers(page) == []
    assert not re.search(r"(?:src|href)\s*=\s*[\"']?(?:https?:)?//", page), "nothing is fetched"


def test_the_workbook_holds_no_formula(written):
    import openpyxl

    folder, _ = written
    book = openpyxl.load_workbook(folder / "book.xlsx")
    texts = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row
             if isinstance(cell.value, str)]  # fmt: skip
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds
    assert any(text.startswith("=2+2") for text in texts), "the name itself is kept, as text"
    assert all(steers(text) == [] for text in texts)


def test_the_tables_hold_no_cell_that_a_spreadsheet_computes(written):
    folder, _ = written
    names = sorted(path.name for path in (folder / "tables").iterdir())
    assert names
    assert all(re.fullmatch(r"[a-z0-9_-]+\.csv", name) for name in names)
    found = False
    for name in names:
        text = (folder / "tables" / name).read_text("utf-8")
        for row in csv.reader(io.StringIO(text)):
            for cell in row:
                number = re.fullmatch(r"[-+]?[\d.]+(?:e[-+]?\d+)?", cell)
                assert number or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), (name, cell)
                found |= "=2+2" in cell
        assert steers(text) == []
    assert found


def test_the_document_keeps_every_name_as_it_was_written(written):
    folder, _ = written
    text = (folder / "document.json").read_text("ascii")
    tree = json.loads(text)
    assert tree["input"]["name"] == FORMULA
    assert "\x1b" not in text


def test_a_circuit_of_hostile_names_is_shown_and_not_obeyed(tmp_path):
    bag = write_folder(tmp_path / "bag", tables(), settings())
    path = tmp_path / "flow\x1b[31m.toml"
    path.write_text(CIRCUIT.replace("roll 1", "[red]\\u001b[31m\\u202e"))
    outcome = run(
        "scale-up", str(bag), "--circuit", str(path), "--trials", "0", "--feed-t-h", "5",
        compute=True,
    )  # fmt: skip
    assert outcome.code == 0, outcome.err
    assert "[red]" in outcome.out
    assert steers(outcome.out + outcome.err) == []


@pytest.mark.parametrize(
    "name", ["../secret.csv", "/etc/passwd", "..\\secret.csv", "C:\\secret.csv", "~/secret.csv",
             "sub/../../secret.csv", "link.csv", "folder/secret.csv", "\u0000"]
)  # fmt: skip
def test_nothing_outside_the_folder_of_the_sample_is_read(tmp_path, name):
    secret = tmp_path / "secret.csv"
    secret.write_text("mineral,mass_pct\nquartz,100\n")
    bag = write_folder(tmp_path / "bag", tables(), settings(files={"minerals": name}))
    (bag / "link.csv").symlink_to(secret)
    (bag / "folder").symlink_to(tmp_path)
    with pytest.raises(InputError) as caught:
        read_sample(bag)
    assert "quartz" not in str(caught.value)


def test_a_table_or_the_settings_that_are_links_out_of_the_folder_are_refused(tmp_path):
    secret = tmp_path / "secret"
    secret.write_text("root:x:0:0\n")
    for name in ("minerals.csv", "sieves.csv", "sample.toml"):
        bag = write_folder(tmp_path / f"bag of {name}", tables(), settings())
        (bag / name).unlink()
        (bag / name).symlink_to(secret)
        with pytest.raises(InputError, match="leads out of the folder") as caught:
            read_sample(bag)
        assert "root" not in str(caught.value)


@pytest.mark.parametrize("roll", ["../mine.toml", "link.toml", "/dev/zero", "folder/mine.toml"])
def test_a_circuit_opens_no_roll_outside_its_folder(tmp_path, roll):
    from nasty_bags import roll_text

    from feedchar.plant.circuit_file import read_circuit

    (tmp_path / "mine.toml").write_text(roll_text())
    flow = tmp_path / "plant"
    flow.mkdir()
    (flow / "link.toml").symlink_to(tmp_path / "mine.toml")
    (flow / "folder").symlink_to(tmp_path)
    (flow / "own.toml").write_text(roll_text())
    text = 'roll = "{}"\nsplitter_mm'
    (flow / "flow.toml").write_text(CIRCUIT.replace("splitter_mm", text.format(roll)))
    with pytest.raises(InputError, match="no file beside the circuit"):
        read_circuit(str(flow / "flow.toml"))
    (flow / "flow.toml").write_text(CIRCUIT.replace("splitter_mm", text.format("own.toml")))
    own = read_circuit(str(flow / "flow.toml")).steps[1].roll
    assert own is not None
    assert own.roll == "mine"


@pytest.mark.parametrize("kind", ["a pipe", "a device"])
def test_a_roll_that_is_no_file_is_refused_and_never_waited_for(tmp_path, kind):
    from feedchar.field.rolls import read_roll

    path = tmp_path / "mine.toml"
    if kind == "a pipe":
        os.mkfifo(path)
    else:
        path.symlink_to("/dev/zero")
    with pytest.raises(InputError, match="a folder, a device or a pipe"):
        read_roll(str(path))
