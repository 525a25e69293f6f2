"""Panel for one edge on a line: how it runs to and fro, and what the far end stands at meanwhile."""

from __future__ import annotations

from math import isinf

from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.circuit.bounce import Bouncing, bouncing, parallel, terminator_ohm
from helpers.bus.circuit.elements import known
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.trial_line import ends
from helpers.curves import Axis, Curve, Curves, Note, Points, Tone
from helpers.errors import one_of
from helpers.facts import one
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.quantity import percent, time_text

LEGS = 8  # ways from end to end in the picture
SHORTED = "shorted"
REST = 0.1  # this near to its last level an end counts as at rest
_LEAST = 0.01  # a smaller wave is not drawn
_SHORTEST = 0.02  # a bit that is a smaller share of the picture could not be told from the next
_HIGH = 316  # pixels


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
        pictures=[_ways(line, far), _level(line, far, bit_s)],
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


def _ways(line: Bouncing, far: str) -> Curves:
    """The cable from left to right, time downwards: the edge runs to and fro."""
    waves = [wave for wave in line.arrivals(LEGS) if abs(wave.wave) >= _LEAST]
    curves, notes, unnamed = [], [], {Tone.MAIN: "adds", Tone.OTHER: "takes away"}
    for n, wave in enumerate(waves):
        tone = Tone.MAIN if wave.wave > 0 else Tone.OTHER
        ends = (1, 0) if n % 2 else (0, 1)
        curves.append(Curve(ends, (wave.time_s - line.delay_s, wave.time_s), unnamed.pop(tone, ""), tone))
        notes.append(Note(0.5, wave.time_s - line.delay_s / 2, percent(wave.wave), "centre", bold=True))
    told = ", ".join(f"{percent(wave.wave)} at the {wave.at} end" for wave in waves[:5])
    return Curves(
        f"an edge running to and fro: {told}",
        Axis("place on the cable", -0.1, 1.1, ticks=[(0, "sender"), (1, "far end")]),
        _time(line),
        curves,
        notes=notes,
        below=[f"terminator at the sender: on; at the far end: {far}"],
        width=410,
        height=_HIGH,
    )


def _level(line: Bouncing, far: str, bit_s: float) -> Curves:
    """What the far end stands at over the same time, and where a receiver there reads its bits."""
    arrivals, span_s = line.arrivals(LEGS)[::2], LEGS * line.delay_s
    times_s = [0.0, *(arrival.time_s for arrival in arrivals for _ in range(2)), span_s]
    levels = [0.0, 0.0, *(arrival.level for arrival in arrivals for _ in range(2))]
    first_s = line.delay_s + bit_s / 2  # counted from its own start edge
    reads_s = [first_s + n * bit_s for n in range(int((span_s - first_s) / bit_s) + 1)] if first_s <= span_s else []
    words = f"◆ a bit is read, every {time_text(bit_s)}"
    if bit_s < _SHORTEST * span_s:
        reads_s, words = [], f"one bit is {time_text(bit_s)}: too short to draw"
    elif first_s > span_s:
        words = f"first bit read after {time_text(first_s)}, below here"
    seen = [[arrival.level for arrival in arrivals if arrival.time_s <= time_s][-1] for time_s in reads_s]
    told = ", ".join(f"{percent(a.level)} from {time_text(a.time_s)}" for a in line.arrivals(5)[::2])
    return Curves(
        f"level at the far end over time; the far end ({far}) stands at {told}",
        Axis("level at the far end", -0.1, 2.1, ticks=[(level, percent(level)) for level in (0.0, 1.0, 2.0)]),
        _time(line),
        [Curve(levels, times_s)],
        [Points(seen, reads_s, tone=Tone.OTHER)],
        below=[words],
        width=330,
        height=_HIGH,
    )


def _time(line: Bouncing) -> Axis:
    ticks = [(leg * line.delay_s, time_text(leg * line.delay_s)) for leg in range(0, LEGS + 1, 2)]
    return Axis("time", LEGS * line.delay_s, 0, ticks=ticks)


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
