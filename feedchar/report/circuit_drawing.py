"""A circuit as a drawing: steps one below the other, streams between them, ends on the right.

Written as SVG by hand, so that every word stays text and every name is escaped.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from feedchar.report.numbers import weight
from feedchar.report.picture_style import INK, QUIET
from feedchar.report.plant_questions import tonnes
from feedchar.report.words import name
from feedchar.results.plant import PlantCircuit, PlantStep, PlantStream

ENDS = ("product", "reject", "dust")

WIDTH = 800
_BOX_X, _BOX_W, _BOX_H = 250, 220, 62
_END_X, _END_W, _END_H = 660, 110, 30
_LINE_H = 48
"""Height of a stream with its two lines of words."""
_GAP, _GAP_WITH_STREAM = 26, 64
_TRACK = 26
_LONGEST = 24
"""Characters of a name that a box holds."""
_THINNEST, _THICKEST = 1.2, 5.0
_END_STYLES = {
    "product": f'fill="#ffffff" stroke="{INK}" stroke-width="3"',
    "reject": f'fill="#d9d9d9" stroke="{INK}" stroke-width="1"',
    "dust": f'fill="#ffffff" stroke="{INK}" stroke-width="1" stroke-dasharray="4 3"',
}


def circuit_svg(circuit: PlantCircuit, feed_t_h: float) -> str:
    """The drawing of one circuit.

    Parameters
    ----------
    circuit : PlantCircuit
        Steps in order, with their streams. [SI]
    feed_t_h : float
        Dry feed; the thickness of lines is told by it. [t h⁻¹]

    Returns
    -------
    str
        SVG element, the same for the same circuit. [-]
    """
    return _Drawing(circuit, feed_t_h).text()


class _Drawing:
    """The parts of one drawing while they are placed."""

    def __init__(self, circuit: PlantCircuit, feed_t_h: float) -> None:
        self.circuit, self.feed_t_h = circuit, feed_t_h
        self.parts: list[str] = []
        self.tops: dict[str, float] = {}
        self.own: dict[str, list[PlantStream]] = {
            step.step: [one for one in circuit.streams if one.from_step == step.step]
            for step in circuit.steps
        }
        self.order = [step.step for step in circuit.steps]
        self.tracks = 0
        self.arrived: dict[str, int] = {}

    def text(self) -> str:
        y = 64.0
        for step in self.circuit.steps:
            self.tops[step.step] = y
            onward = any(self._next(one) for one in self.own[step.step])
            ends = sum(one.to in ENDS for one in self.own[step.step])
            y += max(_BOX_H, ends * _LINE_H) + (_GAP_WITH_STREAM if onward else _GAP)
        first = self.circuit.steps[0].step
        middle = _BOX_X + _BOX_W / 2
        self._words(middle + 12, 30, f"feed {tonnes(self.feed_t_h)} t/h dry", "start")
        self._line([(middle, 12), (middle, self.tops[first])], self.feed_t_h)
        for step in self.circuit.steps:
            self._step(step)
        height = y - _GAP + 10
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" '
            f'width="{WIDTH}" height="{height:.0f}" font-family="\'DejaVu Sans\', Verdana, '
            f'sans-serif" font-size="13" fill="{INK}">{"".join(self.parts)}</svg>'
        )

    def _next(self, stream: PlantStream) -> bool:
        """Whether it goes to the step below."""
        place = self.order.index(stream.from_step)
        return stream.to in self.order[place + 1 : place + 2]

    def _step(self, step: PlantStep) -> None:
        top = self.tops[step.step]
        self.parts.append(
            f'<rect x="{_BOX_X}" y="{top:g}" width="{_BOX_W}" height="{_BOX_H}" rx="6" '
            f'fill="#f6f3e9" stroke="{INK}" stroke-width="1.5"/>'
        )
        middle = _BOX_X + _BOX_W / 2
        self._words(middle, top + 19, name(step.step, _LONGEST), "middle", bold=True)
        for place, line in enumerate(_inside(step)):
            self._words(middle, top + 37 + 16 * place, line, "middle", small=True)
        down, sideways = 0, 0
        for stream in self.own[step.step]:
            if stream.to in ENDS:
                self._to_end(stream, top + _LINE_H * sideways + 30)
                sideways += 1
            elif self._next(stream):
                self._down(stream, top, down)
                down += 1
            else:
                self._round(stream, top)

    def _to_end(self, stream: PlantStream, y: float) -> None:
        start = _BOX_X + _BOX_W
        if y > self.tops[stream.from_step] + _BOX_H:  # below the box: from its lower corner
            foot = self.tops[stream.from_step] + _BOX_H
            path = [(start - 14, foot), (start - 14, y), (_END_X, y)]
        else:
            path = [(start, y), (_END_X, y)]
        self._line(path, stream.t_h)
        self._words(start + 10, y - 7, stream.outlet, "start")
        self._words(start + 10, y + 17, _amount(stream), "start", small=True)
        self.parts.append(
            f'<rect x="{_END_X}" y="{y - _END_H / 2:g}" width="{_END_W}" height="{_END_H}" '
            f"{_END_STYLES[stream.to]}/>"
        )
        self._words(_END_X + _END_W / 2, y + 5, stream.to, "middle", bold=stream.to == "product")

    def _down(self, stream: PlantStream, top: float, place: int) -> None:
        x = _BOX_X + _BOX_W / 2 - 50 * place
        foot, head = top + _BOX_H, self.tops[stream.to]
        self._line([(x, foot), (x, head)], stream.t_h)
        side, anchor = (10, "start") if place == 0 else (-10, "end")
        y = head - 38
        self._words(x + side, y, stream.outlet, anchor)
        self._words(x + side, y + 17, _amount(stream), anchor, small=True)

    def _round(self, stream: PlantStream, top: float) -> None:
        """Along a track on the left, to a step further down or back."""
        x = _BOX_X - 30 - _TRACK * self.tracks
        self.tracks += 1
        arrived = self.arrived.get(stream.to, 0)
        self.arrived[stream.to] = arrived + 1
        leaves = top + _BOX_H - 12
        enters = self.tops[stream.to] + 14 + 10 * arrived
        self._line([(_BOX_X, leaves), (x, leaves), (x, enters), (_BOX_X, enters)], stream.t_h)
        y = (leaves + enters) / 2
        lines = [stream.outlet, *_amount(stream).split(", ")]
        if stream.returns:
            lines.append("goes back")
        for k, line in enumerate(lines):
            self._words(x - 8, y + 16 * (k - len(lines) / 2) + 12, line, "end", small=k > 0)

    def _line(self, path: Sequence[tuple[float, float]], t_h: float) -> None:
        """A line that ends in an arrow; the thicker the more it carries."""
        part = min(1.0, max(0.0, t_h / self.feed_t_h)) if self.feed_t_h > 0 else 0.0
        width = _THINNEST + (_THICKEST - _THINNEST) * part
        (x0, y0), (x1, y1) = path[-2], path[-1]
        length = abs(x1 - x0) + abs(y1 - y0)
        along = ((x1 - x0) / length, (y1 - y0) / length)
        back = (x1 - 9 * along[0], y1 - 9 * along[1])
        points = " ".join(f"{x:g},{y:g}" for x, y in [*path[:-1], back])
        self.parts.append(
            f'<polyline points="{points}" fill="none" stroke="{INK}" stroke-width="{width:.2f}"/>'
        )
        across = (along[1] * 6, along[0] * 6)
        corners = [
            (x1, y1),
            (back[0] - along[0] * 3 + across[0], back[1] - along[1] * 3 + across[1]),
            (back[0] - along[0] * 3 - across[0], back[1] - along[1] * 3 - across[1]),
        ]
        points = " ".join(f"{x:g},{y:g}" for x, y in corners)
        self.parts.append(f'<polygon points="{points}"/>')

    def _words(
        self,
        x: float,
        y: float,
        text: str,
        anchor: str,
        *,
        bold: bool = False,
        small: bool = False,
    ) -> None:
        look = ' font-weight="bold"' if bold else ""
        look += f' font-size="12" fill="{QUIET}"' if small else ""
        self.parts.append(
            f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}"{look}>{escape(text)}</text>'
        )


def _amount(stream: PlantStream) -> str:
    iron = "" if stream.Fe2O3_wt_pct is None else f", {weight(stream.Fe2O3_wt_pct)} % Fe2O3"
    return f"{tonnes(stream.t_h)} t/h{iron}"


def _inside(step: PlantStep) -> list[str]:
    """What stands in the box of a step below its name."""
    if step.belt_speed_m_s is None:
        cuts = " and ".join(f"{cut:g} \u00b5m" for cut in step.cuts_um)
        return [step.kind, f"cut at {cuts}" if cuts else f"{tonnes(step.feed_t_h)} t/h in"]
    edges = f"{1e3 * (step.splitter_m or 0.0):g}"
    if step.splitter_2_m is not None:
        edges += f" and {1e3 * step.splitter_2_m:g}"
    lines = [f"{step.belt_speed_m_s:g} m/s, edge {edges} mm"]
    if step.belt_m is not None:
        lines.append(f"{tonnes(step.feed_t_h)} t/h on {tonnes(step.belt_m)} m of belt")
    return lines
