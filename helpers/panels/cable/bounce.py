"""Panel for one edge on a line: how it runs to and fro, and what the far end stands at meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isinf

from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.circuit.bounce import Arrival, Bouncing, bouncing, parallel, terminator_ohm
from helpers.bus.circuit.elements import known
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.trial_line import ends
from helpers.errors import one_of
from helpers.facts import one
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, Drawing
from helpers.panels.kit.panel import Panel
from helpers.quantity import percent, time_text

LEGS = 8  # ways from end to end in the picture
SHORTED = "shorted"
REST = 0.1  # this near to its last level an end counts as at rest
_NEAR, _FAR, _PLOT, _RIGHT, _TOP, _BOTTOM = 84.0, 440.0, 500.0, 744.0, 46.0, 296.0
_LEAST = 0.01  # a smaller wave is not drawn
_NARROWEST = 5.0  # pixels of a bit that can still be told apart

Place = Callable[[float], float]  # where a value stands on the sheet


def far_ends() -> dict[str, float]:
    """What the far end may be: its name, and what a wave finds there [Ω].

    >>> far_ends()["shorted"], far_ends()["missing"]
    (0.0, inf)
    """
    return {**{name: end.ohm for name, end in ends().items()}, SHORTED: 0.0}


def bounce_view(length_m: float, far: str, bit_rate: float) -> Answer:
    """One edge from the left end of a bare line of cable type A, where the sender sits beside its terminator."""
    one_of("far end", far, far_ends())
    ohm = far_ends()[far]
    line = bouncing(length_m, ohm)
    bit_s = 1 / bit_rate
    rests = (line.settled_s(REST) - line.delay_s) / bit_s
    return Answer(
        f"One way takes {time_text(line.delay_s)}; the echo is back after {time_text(2 * line.delay_s)}, "
        f"{_bits(2 * line.delay_s / bit_s)} at {bit_rate_text(bit_rate)}. {_rest(rests, far)}",
        because=_reflections(line, ohm),
        pictures=[_drawing(line, far, bit_s)],
        rows=_rows(line, bit_s),
        sources=[
            f"resistors of the terminator: {one('terminator', name='rt_ohm').cited}",
            f"sender's resistance: {one('rs485', name='driver_source_ohm').cited}",
            f"impedance of the cable, middle of what is allowed: {_impedance_cited()}",
            f"time per metre: {one('line_electrical', cable='A', quantity='delay_s_per_m').cited}",
            "The line here has no losses and nothing between its ends. The waveform bench calculates both.",
        ],
    )


def _impedance_cited() -> str:
    return one("cable_types", cable="A", quantity="impedance").cited


def _bits(bits: float) -> str:
    return f"{float(f'{bits:.2g}'):g} {'bit' if round(bits, 2) == 1 else 'bits'}"


def _rest(bits: float, far: str) -> str:
    if far == SHORTED:
        return "With a short the far end never leaves 0 V: no level at all, at any bit rate."
    if bits <= 0:
        return "The far end is at rest with the first wave: nothing comes after it that matters."
    told = f"The far end is at rest (within {percent(REST)}) {_bits(bits)} after its start edge:"
    if bits < 0.5:  # the middle of the bit
        return f"{told} before the first bit is read. At this bit rate the echo goes unnoticed."
    return f"{told} bits are read while the line still moves."


def _reflections(line: Bouncing, ohm: float) -> str:
    z0, source, one_on = cable().impedance_ohm, known("rs485", "driver_source_ohm"), terminator_ohm()
    near = parallel(source, one_on)
    if isinf(ohm):
        far = "Far end: open, so everything comes back, +1"
    else:
        far = f"Far end: ({ohm:.4g} − {z0:g}) / ({ohm:.4g} + {z0:g}) = {_share(line.far)}"
    return (
        f"{far}. At the sender: {source:g} Ω beside a terminator of {one_on:.4g} Ω, together {near:.3g} Ω; "
        f"({near:.3g} − {z0:g}) / ({near:.3g} + {z0:g}) = {_share(line.near)}."
    )


def _share(share: float) -> str:
    return f"{share:+.3f}".replace("-", "−") if share else "0"


def _rows(line: Bouncing, bit_s: float) -> list[Row]:
    return [
        {
            "arrives at": f"{a.at} end",
            "after": time_text(a.time_s),
            "in bits": float(f"{a.time_s / bit_s:.2g}"),
            "wave": percent(a.wave),
            "sends back": percent(a.wave * (line.far if a.at == "far" else line.near)),
            "stands at": percent(a.level),
        }
        for a in line.arrivals(5)
    ]


def _drawing(line: Bouncing, far: str, bit_s: float) -> Drawing:
    """Cable from left to right, time downwards; at the right the level of the far end over the same time."""
    told = ", ".join(f"{percent(a.level)} from {time_text(a.time_s)}" for a in line.arrivals(5)[::2])
    sheet = Drawing(760, 312, f"an edge running to and fro; the far end ({far}) stands at {told}")
    span_s = LEGS * line.delay_s

    def y(time_s: float) -> float:
        return _TOP + (_BOTTOM - _TOP) * min(time_s / span_s, 1.0)

    sheet.text(_NEAR, 16, "sender", bold=True)
    sheet.text(_NEAR, 32, "terminator on", size=11)
    sheet.text(_FAR - 30, 16, "far end", bold=True)
    sheet.text(_FAR - 30, 32, far, size=11)
    sheet.text((_NEAR + _FAR) / 2 - 20, 16, "time runs downwards", size=11, fill=GREY)
    sheet.line(_NEAR, _TOP, _NEAR, _BOTTOM, width=2)
    sheet.line(_FAR, _TOP, _FAR, _BOTTOM, width=2)
    for leg in range(LEGS + 1):
        if leg % 2 == 0:
            sheet.text(_NEAR - 8, y(leg * line.delay_s) + 4, time_text(leg * line.delay_s), size=11, anchor="end")
    _zigzag(sheet, line, y)
    _level(sheet, line, bit_s, y, span_s)
    return sheet


def _zigzag(sheet: Drawing, line: Bouncing, y: Place) -> None:
    for n, arrival in enumerate(line.arrivals(LEGS)):
        if abs(arrival.wave) < _LEAST:
            return
        x1, x2 = (_FAR, _NEAR) if n % 2 else (_NEAR, _FAR)
        y1, y2 = y(n * line.delay_s), y(arrival.time_s)
        down = arrival.wave < 0
        sheet.line(x1, y1, x2, y2, stroke=ORANGE if down else BLUE, width=1 + 3 * abs(arrival.wave),
                   dash="7 4" if down else "none")  # fmt: skip
        middle = ((x1 + x2) / 2, (y1 + y2) / 2)
        sheet.box(middle[0] - 24, middle[1] - 8, 48, 16, stroke="none")
        sheet.text(middle[0], middle[1] + 4, percent(arrival.wave), size=11, bold=True)


def _level(sheet: Drawing, line: Bouncing, bit_s: float, y: Place, span_s: float) -> None:
    def x(level: float) -> float:
        return _PLOT + (_RIGHT - _PLOT) * (min(max(level, -0.1), 2.1) + 0.1) / 2.2

    sheet.text((_PLOT + _RIGHT) / 2, 16, "level at the far end", bold=True)
    for level in (0.0, 1.0, 2.0):
        sheet.line(x(level), _TOP, x(level), _BOTTOM, stroke="#d5d9de", width=1)
        sheet.text(x(level), 36, percent(level), size=11)
    arrivals = line.arrivals(LEGS)[::2]
    points = [(x(0), y(0))]
    for arrival in arrivals:
        points += [(points[-1][0], y(arrival.time_s)), (x(arrival.level), y(arrival.time_s))]
    points.append((points[-1][0], _BOTTOM))
    sheet.path(points, stroke=INK, width=2)
    first = line.delay_s + bit_s / 2
    words = f"◆ a bit is read, every {time_text(bit_s)}"
    if (_BOTTOM - _TOP) * bit_s / span_s < _NARROWEST:
        words = f"one bit is {time_text(bit_s)}: too short to draw"
    elif first > span_s:
        words = f"first bit read after {time_text(first)}, below here"
    else:
        _read_points(sheet, [first + n * bit_s for n in range(int((span_s - first) / bit_s) + 1)], arrivals, x, y)
    sheet.text((_PLOT + _RIGHT) / 2, _BOTTOM + 13, words, size=11)


def _read_points(sheet: Drawing, times_s: list[float], arrivals: Sequence[Arrival], x: Place, y: Place) -> None:
    """Where a receiver at the far end reads its bits, counted from its own start edge."""
    size = min(5.0, (y(times_s[-1]) - y(times_s[0])) / (2 * len(times_s))) if len(times_s) > 1 else 5.0
    for time_s in times_s:
        cx, cy = x([a.level for a in arrivals if a.time_s <= time_s][-1]), y(time_s)
        diamond = [(cx - size, cy), (cx, cy - size), (cx + size, cy), (cx, cy + size)]
        sheet.path(diamond, fill=ORANGE, stroke=INK, width=0.5)


def bounce_panel() -> Panel:
    """Send one edge, and follow it from end to end."""
    return Panel(
        "One edge, to and fro",
        {
            "length_m": fields.with_unit("length of cable", "100 m", "length", "m", 1, 3000),
            "far": fields.choice("far terminator", far_ends(), "missing"),
            "bit_rate": fields.bit_rate(12_000_000),
        },
        bounce_view,
        hint="The numbers are shares of the first wave. A dashed line is a wave that takes away. A receiver reads "
        "each bit in its middle.",
    )
