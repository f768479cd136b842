"""The drawing of a circuit: every step, every stream, and names that stay text."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

from feedchar.report.circuit_drawing import circuit_svg
from feedchar.results.plant import PlantCircuit, PlantOutlet, PlantStep, PlantStream
from feedchar.uncertainty.summary import Uncertain

HOSTILE = "<script>alert(1)</script>"
SVG = "{http://www.w3.org/2000/svg}"


def about(value: float) -> Uncertain:
    return Uncertain(value, value, 0.1, value, value, value)


OUTLET = PlantOutlet(about(6.0), about(90.0), {"Fe2O3": about(0.02)}, about(10.0))


def circuit(first: str = "screen") -> PlantCircuit:
    steps = (
        PlantStep(first, "screen", 7.0, (500.0, 75.0)),
        PlantStep("roll 1", "roll", 6.9, (), "r", 1.5, 0.01, belt_m=4.0),
        PlantStep("roll 2", "roll", 6.8, (), "r", 1.5, 0.01, 0.02, belt_m=3.9),
    )
    streams = (
        PlantStream(first, "coarse", "reject", 0.1, 0.1, False),
        PlantStream(first, "middle", "roll 1", 6.8, 0.15, False),
        PlantStream(first, "fine", "dust", 0.1, 0.6, False),
        PlantStream("roll 1", "magnetics", "reject", 0.2, 4.0, False),
        PlantStream("roll 1", "non-magnetics", "roll 2", 6.7, 0.04, False),
        PlantStream("roll 2", "magnetics", "reject", 0.15, 0.3, False),
        PlantStream("roll 2", "middlings", "roll 1", 0.6, None, True),
        PlantStream("roll 2", "non-magnetics", "product", 6.0, 0.02, False),
    )
    return PlantCircuit(
        "two rolls", "words", steps, streams, OUTLET, OUTLET, OUTLET, about(88.0), about(3.0),
        "meets", 0.9, (), 7.9, 0.5, 12.0, 1e-15, True, "given",
    )  # fmt: skip


def words(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def test_every_step_and_stream_is_told_with_its_amount() -> None:
    told = words(circuit_svg(circuit(), 7.0))
    assert {"screen", "roll 1", "roll 2"} <= set(told)
    assert [told.count(end) for end in ("product", "reject", "dust")] == [1, 3, 1]
    assert "6.00 t/h, 0.020 % Fe2O3" in told
    assert "0.600 t/h" in told
    assert told.count("goes back") == 1
    assert "1.5 m/s, edge 10 and 20 mm" in told
    assert any("500" in line and "75" in line for line in told)


def test_what_carries_more_is_thicker() -> None:
    svg = circuit_svg(circuit(), 7.0)
    widths = [float(found) for found in re.findall(r'<polyline[^>]+stroke-width="([\d.]+)"', svg)]
    assert len(widths) == 9  # the feed and eight streams
    assert max(widths) == widths[0] == 5.0
    assert min(widths) < 1.5


def test_nothing_is_drawn_outside_the_picture() -> None:
    root = ET.fromstring(circuit_svg(circuit(), 7.0))
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for element in root.iter():
        for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", element.attrib.get("points", "")):
            assert 0 <= float(x) <= width
            assert 0 <= float(y) <= height
        if "y" in element.attrib:
            assert 0 <= float(element.attrib["y"]) <= height
            assert 0 <= float(element.attrib["x"]) <= width


def test_a_name_from_a_file_stays_text() -> None:
    svg = circuit_svg(circuit(HOSTILE), 7.0)
    assert "<script" not in svg
    assert any(line.startswith("<script>") for line in words(svg))
    assert circuit_svg(circuit(HOSTILE), 7.0) == svg
