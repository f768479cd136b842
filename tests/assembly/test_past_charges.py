"""Which steps of a test a library keeps: a roll fed with the bag as received."""

from __future__ import annotations

from feedchar.assembly import past
from feedchar.field.rolls import read_roll
from feedchar.field.setting import Setting
from feedchar.sample.read import read_sample

HEAD = "test,step,machine,from_bag,bag,product,mass_g,belt_speed_m_s,splitter_mm\n"
ROLL = Setting(roll=read_roll("fine-100"), passes=())


def kept(tmp_path, monkeypatch, rows: str):
    monkeypatch.setattr(past, "KEPT_TRIALS", 20)
    (tmp_path / "minerals.csv").write_text("mineral,mass_pct\nquartz,99\nbiotite,1\n")
    (tmp_path / "tests.csv").write_text(HEAD + rows)
    return past.past_tests_of(read_sample(tmp_path), ROLL, 1)


def test_a_charge_weighed_in_is_the_bag_as_received(tmp_path, monkeypatch):
    made = "T,1,roll,{0},M,magnetics,30,1.5,10\nT,1,roll,{0},N,non-magnetics,970,1.5,10\n"
    (plain,) = kept(tmp_path, monkeypatch, made.format("feed"))
    charge = "T,0,,feed,B,feed,1001,,\n"
    (weighed_in,) = kept(tmp_path, monkeypatch, charge + made.format("B"))
    assert weighed_in.measured == plain.measured
    assert weighed_in.predicted == plain.predicted


def test_what_a_drum_has_gone_over_is_no_bag_as_received(tmp_path, monkeypatch):
    rows = (
        "T,0,,feed,B,feed,1001,,\n"
        "T,1,drum,B,DM,magnetics,5,,\nT,1,drum,B,DN,non-magnetics,995,,\n"
        "T,2,roll,DN,M,magnetics,30,1.5,10\nT,2,roll,DN,N,non-magnetics,965,1.5,10\n"
    )
    assert kept(tmp_path, monkeypatch, rows) == ()
