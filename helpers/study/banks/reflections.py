"""Questions on reflections. Each slip is calculated by making the mistake on purpose."""

from __future__ import annotations

from math import inf

from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.circuit.bounce import Bouncing, loaded_ohm, parallel, reflection, terminator_ohm
from helpers.bus.circuit.elements import Terminator, known
from helpers.bus.circuit.line import cable
from helpers.study.forms import Choice, Number
from helpers.study.question import Draw, Kind, Question, Slip

_LIGHT_NS_M = 3.3  # light in a vacuum, about; what people take who forget the cable's plastic


def _delay_ns_m() -> float:
    return cable().delay_s_per_m * 1e9


def echo_share(draw: Draw) -> Question:
    """How much comes back from an end."""
    z0 = draw.pick((135, 140, 145, 150, 155, 160, 165))
    ohm = draw.whole(60, 400, 10)
    right = 100 * reflection(ohm, z0)
    return Question(
        f"A cable of {z0} Ω ends in {ohm} Ω.\nHow much of a wave comes back? Answer in % of the wave, negative if it "
        "comes back upside down.",
        Number("%", absolute=0.6, also=("percent",)),
        right,
        steps=(
            "(end − cable) / (end + cable).",
            f"({ohm} − {z0}) / ({ohm} + {z0}) = {ohm - z0} / {ohm + z0} = {right:.1f} %.",
        ),
        slips=(
            Slip(-right, "The sign is turned: first the end, then the cable."),
            Slip(100 * (ohm - z0) / z0, "Divide by the sum of both, not by the cable alone."),
            Slip(100 * 2 * ohm / (ohm + z0), "That is what the end stands at. Asked is what comes back."),
            Slip(100 * (ohm - z0) / ohm, "Divide by the sum of both, not by the end alone."),
        ),
    )


def echo_bits(draw: Draw) -> Question:
    """How many bits later an echo is back."""
    length_m, rate = draw.whole(40, 200, 10), draw.pick((500_000, 1_500_000, 3_000_000, 6_000_000, 12_000_000))
    delay = _delay_ns_m()
    trip_ns, bit_ns = 2 * length_m * delay, 1e9 / rate
    right = trip_ns / bit_ns
    return Question(
        f"The far end of {length_m} m of cable is open. An edge needs {delay:g} ns for each metre. The bus runs at "
        f"{bit_rate_text(rate)}.\n"
        "How many bit times after an edge is its echo back at the sender? Answer in bit times.",
        Number("bit times", relative=0.02, also=("bits", "bit", "tbit")),
        right,
        steps=(
            "The echo goes to the far end and back: twice the length. Then compare with one bit.",
            f"2 × {length_m} m × {delay:g} ns/m = {trip_ns:g} ns.",
            f"One bit: 1 s / {bit_rate_text(rate).removesuffix('/s')} = {bit_ns:.1f} ns.",
            f"{trip_ns:g} / {bit_ns:.1f} = {right:.2f} bit times.",
        ),
        slips=(
            Slip(right / 2, "That is one way only. The echo has to come back."),
            Slip(right / 8, "That is counted in bytes. One bit time is asked for."),
            Slip(right * _LIGHT_NS_M / delay, "That is light in empty space. In this cable it needs longer."),
            Slip(right / 11, "That is counted in characters of 11 bits."),
        ),
    )


_CAUSES = {
    "a terminator is missing": "An open end sends each wave back upright, and the level there overshoots.",
    "two terminators are on at one end": "More load, less voltage, and what comes back is upside down and small.",
    "both terminators have no supply": "Their resistors still take up the waves, but nothing holds the idle level.",
    "stations sit too close together": "Much capacitance in one place: the edges are slow and dented just there.",
    "A and B are swapped at a station": "Length and bit rate do not matter: this station reads everything turned.",
}


def cause(draw: Draw) -> Question:
    """Which fault a description fits."""
    length_m, station, rate = draw.whole(50, 100, 5), draw.whole(3, 12), draw.pick((3_000_000, 12_000_000))
    slow = draw.pick((45_450, 93_750, 187_500))
    descriptions = {
        "a terminator is missing": f"At {bit_rate_text(rate)} several stations miss telegrams, at "
        f"{bit_rate_text(slow)} none. A scope at the far end shows edges that overshoot to nearly twice the level "
        "and ring.",
        "two terminators are on at one end": "The voltage is lower than usual everywhere; nothing overshoots. Only the "
        f"most distant stations miss telegrams now and then at {bit_rate_text(rate)}.",
        "both terminators have no supply": "The telegrams themselves look clean on a scope. Between telegrams B − A "
        f"is 0 V, and station {station} reports characters that nobody sent.",
        "stations sit too close together": f"Errors come only at {bit_rate_text(rate)}, and only around one cabinet "
        "with many drives. Both ends are as they should be.",
        "A and B are swapped at a station": f"Station {station} never answers, at any bit rate. All others are well.",
    }
    right = draw.pick(tuple(_CAUSES))
    others = draw.some([name for name in _CAUSES if name != right], 3)
    return Question(
        f"A segment of {length_m} m. {descriptions[right]}\nWhich one cause fits best?",
        Choice(tuple(_CAUSES)),
        right,
        steps=(
            "Ask three things: does the bit rate matter, is the level between telegrams right, and where is it worst?",
            _CAUSES[right],
        ),
        slips=tuple(Slip(name, f"That would look different. {_CAUSES[name]}") for name in others),
    )


def signal_resistance(draw: Draw) -> Question:
    """What a terminator is for a fast signal."""
    rt, low, high = draw.whole(205, 235), draw.whole(370, 410), draw.whole(370, 410)
    # The formula takes two equal resistors; only their sum matters.
    right = terminator_ohm(Terminator(rt_ohm=rt, rs_ohm=(low + high) / 2))
    return Question(
        f"The resistors of a terminator were measured one by one: {rt} Ω between B and A, {high} Ω from VP to B, "
        f"{low} Ω from A to DGND. Its supply is on.\nWhat is it for a fast signal on the cable? Answer in Ω.",
        Number("Ω", "resistance", absolute=0.6),
        right,
        steps=(
            "The supply holds VP still against DGND. For a fast change both are one point: the two outer resistors lie "
            "in series with each other, and beside the middle one.",
            f"Outer ones: {high} + {low} = {high + low} Ω.",
            f"Beside {rt} Ω: {rt} × {high + low} / ({rt} + {high + low}) = {right:.1f} Ω.",
        ),
        slips=(
            Slip(float(rt), "That is the middle resistor alone, as with VP hanging free. The outer two count as well."),
            Slip(float(rt + high + low), "All in series is what the supply sees. The cable sees them side by side."),
            Slip(parallel(rt, high), "Only one outer resistor is counted. The way leads through both."),
            Slip(
                parallel(rt, high, low), "The outer two are in series with each other, not each beside the middle one."
            ),
        ),
    )


def end_level(draw: Draw) -> Question:
    """What the far end stands at when the wave has arrived."""
    words = draw.pick(tuple(_ends()))
    ohm, z0 = _ends()[words], cable().impedance_ohm
    wave = draw.whole(120, 320, 5) / 100
    share = reflection(ohm, z0)
    right = wave * (1 + share)
    if ohm == inf:
        how = "An open end sends all of it back: share +1."
    else:
        how = f"It is {ohm:.1f} Ω for the signal: ({ohm:.1f} − {z0:g}) / ({ohm:.1f} + {z0:g}) = {share:+.3f}."
    return Question(
        f"A wave of {wave:g} V arrives at the far end of a cable of {z0:g} Ω. {words}.\n"
        "By how much does the voltage at that end change? Answer in V.",
        Number("V", "voltage", relative=0.012),
        right,
        steps=(
            "At the end the wave and what comes back of it stand on top of each other: wave × (1 + share).",
            how.replace("+-", "−"),
            f"{wave:g} × (1 + {share:.3f}) = {right:.2f} V.".replace("+ -", "− "),
        ),
        slips=(
            Slip(wave * share, "That is what comes back. The wave itself is there, too."),
            Slip(wave * (1 - share), "The sign is turned: more than the cable's impedance raises the level."),
            Slip(wave, "That would be an end that matches the cable exactly. It does not quite."),
            Slip(2 * wave, "Only an open end doubles the wave."),
        ),
    )


def _ends() -> dict[str, float]:
    one_on = terminator_ohm()
    return {
        "The terminator there is missing": inf,
        "One terminator is on there": one_on,
        "Two terminators are on there": parallel(one_on, one_on),
        "The terminator there is on, but its VP hangs free": known("terminator", "rt_ohm"),
    }


def quiet_rate(draw: Draw) -> Question:
    """The highest bit rate at which an echo has died before the bit is read."""
    length_m, left = draw.whole(30, 400, 10), draw.pick((0.05, 0.1, 0.2))
    source = parallel(known("rs485", "driver_source_ohm"), terminator_ohm())
    near = reflection(source, cable().impedance_ohm)
    line = Bouncing(length_m * cable().delay_s_per_m, near, 1.0)
    after_s = line.settled_s(left) - line.delay_s
    trips = round(after_s / (2 * line.delay_s)) + 1

    def fits(limit_s: float) -> str:
        rates = [rate for rate in bit_rates() if 0.5 / rate >= limit_s]
        return bit_rate_text(max(rates, default=bit_rates()[0]))

    each_us = 2 * line.delay_s * 1e6
    return Question(
        f"On {length_m} m of cable the far terminator is missing; a round trip takes {each_us:.2f} µs. The sender's "
        f"end sends back {near:.2f} of what arrives. The level at the far end has moved to within {left * 100:.0f} % "
        f"of its last value after {trips - 1} round trips from its first edge.\nWhich is the highest bit rate at which "
        "this is over before the start bit is read?",
        Choice(tuple(bit_rate_text(rate) for rate in bit_rates())),
        fits(after_s),
        steps=(
            "A receiver reads a bit in its middle: half a bit after its own start edge.",
            f"{trips - 1} × {each_us:.2f} µs = {after_s * 1e6:.2f} µs; a bit must last at least twice that, "
            f"{2 * after_s * 1e6:.2f} µs.",
            f"1 / {2 * after_s * 1e6:.2f} µs is {1e-3 / (2 * after_s):.1f} kbit/s: the next lower bit rate in the list "
            f"is {fits(after_s)}.",
        ),
        slips=(
            Slip(fits(after_s / 2), "The bit is read in its middle, not at its end: only half a bit is left."),
            Slip(fits(line.delay_s), "One way is over by then, but the echo goes on for several round trips."),
            Slip(fits(after_s * 11), "It need not be over within a character: half a bit is enough."),
            Slip(fits(after_s * 4), "Slower than needed: the next higher bit rate is quiet as well."),
        ),
    )


def crowded(draw: Draw) -> Question:
    """The impedance of a cable with stations close to each other."""
    spacing_m, farad = draw.whole(2, 20) / 10, draw.whole(20, 60, 5) * 1e-12
    line, right = cable(), loaded_ohm(spacing_m, capacitance_f=farad)
    own = line.capacitance_f_per_m * 1e12 * spacing_m
    pf, z0 = farad * 1e12, line.impedance_ohm
    ratio = (own + pf) / own
    return Question(
        f"Stations of {pf:.0f} pF each, in plugs without inductors, sit {spacing_m:g} m apart on a cable of {z0:g} Ω "
        f"and {line.capacitance_f_per_m * 1e12:g} pF/m.\nWhich impedance has this piece of the cable? Answer in Ω.",
        Number("Ω", "resistance", relative=0.015),
        right,
        steps=(
            "Impedance = cable's own / √(all the capacitance / the cable's own capacitance), from station to station.",
            f"The cable's own: {spacing_m:g} m × {line.capacitance_f_per_m * 1e12:g} pF/m = {own:g} pF. With a "
            f"station: {own + pf:g} pF, {ratio:.2f} times as much.",
            f"{z0:g} / √{ratio:.2f} = {right:.1f} Ω.",
        ),
        slips=(
            Slip(z0 / ratio, "The root is forgotten: four times the capacitance halves the impedance."),
            Slip(z0, "That is the bare cable. The stations add capacitance and lower the impedance."),
            Slip(z0 * ratio**0.5, "More capacitance lowers the impedance; it does not raise it."),
            Slip(z0 / ((1 + pf / (line.capacitance_f_per_m * 1e12)) ** 0.5), "That is with a station every metre."),
        ),
    )


def fault_distance(draw: Draw) -> Question:
    """How far away a fault is, from the time of its echo."""
    length_m = draw.whole(8, 180)
    delay = _delay_ns_m()
    back_ns = round(2 * length_m * delay)
    right = back_ns / (2 * delay)
    return Question(
        f"A scope at the end plug shows a second step {back_ns} ns after each edge that this station sends. An edge "
        f"needs {delay:g} ns for each metre.\nHow far away is the place that sends it back? Answer in m.",
        Number("m", "length", relative=0.015),
        right,
        steps=(
            "The time is for the way there and back.",
            f"{back_ns} ns / {delay:g} ns/m = {back_ns / delay:.1f} m of way; half of it is the distance.",
            f"{back_ns / delay:.1f} / 2 = {right:.1f} m.",
        ),
        slips=(
            Slip(2 * right, "That is the way there and back. The fault is half as far."),
            Slip(back_ns / (2 * _LIGHT_NS_M), "That is light in empty space. In the cable it comes less far."),
            Slip(back_ns * delay / 2, "Divide the time by the time per metre."),
        ),
    )


KINDS: dict[str, Kind] = {
    "echo-share": echo_share,
    "echo-bits": echo_bits,
    "cause": cause,
    "signal-resistance": signal_resistance,
    "end-level": end_level,
    "quiet-rate": quiet_rate,
    "crowded": crowded,
    "fault-distance": fault_distance,
}
