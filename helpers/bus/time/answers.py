"""What is said of time on the bus: a telegram of the rotation, the bus cycle, a longer format, the way from input to
output.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isclose
from textwrap import wrap

from helpers.answer import Answer, Row
from helpers.bus.address.address import LAST_USABLE
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates, known_bit_rate
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.estimate import compare, estimate_for, step_cost
from helpers.bus.time.message_cycle import Breakdown, Exchange, message_cycle
from helpers.bus.time.response import ResponseTime, response_time
from helpers.bus.time.rotation import AGAIN, ANSWER, GAP, TOKEN, Polled, Spoken, rotation
from helpers.bus.time.timing import rule_bits, rule_source, signal_delay_bits
from helpers.bus.time.watchdog import (
    BASES_S,
    FACTOR_MOST,
    check_watchdog,
    propose_target_rotation,
    propose_watchdog,
    watchdog_factors,
)
from helpers.caution import WARNING, Caution
from helpers.curves import Area, Axis, Bar, Curve, Curves, Note, Tone, decades
from helpers.device import formats
from helpers.errors import in_range, one_of
from helpers.quantity import percent, time_text
from helpers.verdict import Degree
from helpers.wording import counted

ALONE, COMPUTER, SECOND = OTHERS = ("none", "engineering computer, idle", "second controller, as many stations")
_CASES = ("best", "average", "worst")
_FORMS = ("standard_bits", "handbook_bits", "estimate_bits")


@dataclass(frozen=True)
class TimeBar:
    """A time as a bar: its label, its parts with their lengths in one unit, and the whole in words."""

    label: str
    parts: tuple[tuple[str, float], ...]
    total: str


_LETTER, _TOTAL = 6.6, 90  # px, about: a letter, and the whole in words behind its bar
_TIED = "\N{NO-BREAK SPACE}"
_TONES = (Tone.OTHER, Tone.MAIN, Tone.QUIET, Tone.MAIN, Tone.OTHER)


def bars(times: Sequence[TimeBar], unit: str, *, width: int = 760) -> Curves:
    """Times as bars to one scale; equal parts have equal numbers, and lines below tell what these mean."""
    names = list(dict.fromkeys(name for time in times for name, length in time.parts if length))
    drawn, totals = [], []
    for row, time in enumerate(times):
        end = 0.0
        for name, length in time.parts:
            if length:
                number = names.index(name)
                words = (f"{number + 1} {name}", str(number + 1))
                drawn.append(Bar(end, end + length, row, *words, tone=_TONES[number % len(_TONES)]))
                end += length
        totals.append(Note(end, row, time.total, bold=True))
    longest = max(note.x for note in totals)
    plot = width - 42 - _LETTER * max(len(time.label) for time in times)
    key = (f"{n} {name}".replace(" ", _TIED) for n, name in enumerate(names, 1))
    lines = [line.replace(_TIED, " ") for line in wrap(f"{_TIED}· ".join(key), int((width - 12) / _LETTER))]
    return Curves(
        "; ".join(
            f"{time.label} {time.total}: " + ", ".join(f"{name} {length:g}" for name, length in time.parts)
            for time in times
        ),
        Axis(unit, 0, longest * plot / (plot - _TOTAL)),
        Axis("", len(times) - 0.5, -0.5, ticks=[(row, time.label) for row, time in enumerate(times)]),
        bars=drawn,
        notes=totals,
        below=lines,
        width=width,
        height=56 + 34 * len(times) + 16 * len(lines),
    )


# -- one rotation, telegram by telegram ---------------------------------------------------------------


@dataclass(frozen=True)
class RotationPicture:
    """The line with sender and receiver of one telegram, its octets, and the rotation on a scale of time.

    names: of the stations, by address; off: addresses of stations that are switched off.
    """

    telegrams: tuple[Spoken, ...]
    step: int
    bit_rate: float
    names: Mapping[int, str] = field(hash=False)
    off: frozenset[int] = frozenset()

    @property
    def telegram(self) -> Spoken:
        """The one that is looked at."""
        return self.telegrams[self.step - 1]

    @property
    def silent(self) -> frozenset[int]:
        """The addresses at which nobody answers."""
        return frozenset(each.receiver for each in self.telegrams if each.silence.name == "TSL")

    def clock(self, bits: float) -> str:
        """Bit times as a time."""
        return time_text(bits / self.bit_rate)

    @property
    def says(self) -> str:
        """Who sends what to whom, and when."""
        now = self.telegram
        sender, receiver = (f"{self.names.get(a, 'nobody')} ({a})" for a in (now.sender, now.receiver))
        return (
            f"{sender} sends {now.kind} to {receiver}: {now.octets.hex(' ').upper()}; then {now.silence.name}; clock "
            f"{self.clock(now.start_bits)} of {self.clock(self.telegrams[-1].end_bits)}"
        )


def rotation_answer(
    line: Sequence[Polled],
    step: int,
    *,
    bit_rate: float,
    controller: int,
    names: Mapping[int, str],
    off: Collection[int] = (),
) -> Answer:
    """One telegram of the rotation: what it is, who may speak next, and the clock.

    Parameters: line, the stations that are asked; step, from 1; controller, its address; names and off as for
    `RotationPicture`. Raises `OutOfRange` for a step beyond the last telegram.
    """
    telegrams = rotation(line, bit_rate=bit_rate, controller=controller)
    in_range("telegram", step, 1, len(telegrams))
    picture = RotationPicture(telegrams, step, bit_rate, names, frozenset(off))
    sentence, because = _turn(picture)
    now = picture.telegram
    return Answer(
        f"Telegram {step} of {len(telegrams)}, at {picture.clock(now.start_bits)}: {sentence}",
        because=because,
        pictures=[picture],
        rows=_clock_rows(picture),
        sources=[rule_source("character"), now.silence.source, *([rule_source("request again")] * (now.kind == AGAIN))],
    )


def _turn(picture: RotationPicture) -> tuple[str, str]:
    """What happens, and why it is this station's turn; each short enough for one line."""
    now, names = picture.telegram, picture.names
    silence = f"{now.silence.bits:g} bit times ({picture.clock(now.silence.bits)})"
    if now.kind == TOKEN:
        return (
            "the controller hands the token to itself.",
            "Only the holder of the token may begin. A controller that is alone hands it to itself (common practice).",
        )
    if now.kind == GAP:
        return (
            f"the controller looks for a newcomer at address {now.receiver}.",
            f"Nobody has it: {silence} of slot time run out. One address in each rotation (common practice).",
        )
    if now.kind == ANSWER:
        return (
            f"{names[now.sender]} (address {now.sender}) answers.",
            f"It was asked, so it speaks, once. Then all keep quiet for {silence}, and the controller goes on.",
        )
    asked = f"{names[now.receiver]} (address {now.receiver})"
    if now.kind == AGAIN:
        return (
            f"the controller asks {asked} again, the same.",
            f"{silence} of slot time run out again. The controller goes on; all others have waited.",
        )
    if now.silence.name == "TSL":
        return f"the controller asks {asked}.", f"Nobody answers. The controller waits out the slot time of {silence}."
    return (
        f"the controller asks {asked}.",
        f"All stations hear it. Only address {now.receiver} may answer; it begins after {silence}.",
    )


def _clock_rows(picture: RotationPicture) -> list[Row]:
    now, whole = picture.telegram, picture.clock(picture.telegrams[-1].end_bits)
    items = (
        ("telegram", now.bits, f"{len(now.octets)} bytes × {rule_bits('character')} bit times"),
        (f"silence {now.silence.name}", now.silence.bits, now.silence.why),
        ("clock after it", now.end_bits, f"the whole rotation: {whole}"),
    )
    return [
        {"item": item, "bit times": round(bits), "time": picture.clock(bits), "why": why} for item, bits, why in items
    ]


# -- the bus cycle ------------------------------------------------------------------------------------


def cycle_answer(
    stations: Sequence[Exchange],
    bit_rate: float = 1_500_000,
    *,
    length_m: float = 0,
    repeaters: int = 0,
    interval_s: float = 0,
    masters: int = 1,
    lost: int = 1,
) -> Answer:
    """The bus cycle of these stations, three ways, and over all bit rates.

    Parameters: bit_rate [bit/s]; length_m and repeaters, between the two farthest stations; interval_s, the longest
    pause that a station asks for; masters, controllers and engineering computers together; lost, telegrams lost in
    the worst cycle.
    """
    cycles = every_cycle(
        stations, length_m=length_m, repeaters=repeaters, interval_s=interval_s, masters=masters, lost=lost
    )
    return answer_on_cycles(cycles, known_bit_rate(bit_rate), lost=lost)


def cycle_rates_answer(cycles: Sequence[BusCycle], name: str = "") -> Answer:
    """The bus cycle at every bit rate. name: of the network, if it has one."""
    slowest, fastest = cycles[0], cycles[-1]
    exchanges = slowest.exchanges
    data_out, data_in = (sum(sizes) for sizes in zip(*((e.outputs, e.inputs) for e in exchanges), strict=True))
    return Answer(
        f"{f'{name}: ' * bool(name)}{counted(len(exchanges), 'station')}, {data_out} bytes out and {data_in} bytes in "
        f"together. A cycle takes {time_text(slowest.typical.seconds)} at {bit_rate_text(slowest.timing.bit_rate)}, "
        f"{time_text(fastest.typical.seconds)} at {bit_rate_text(fastest.timing.bit_rate)}.",
        rows=_rate_rows(cycles),
        sources=[part.source for part in slowest.typical.parts if part.source],
    )


def every_cycle(
    stations: Sequence[Exchange],
    *,
    length_m: float = 0,
    repeaters: int = 0,
    interval_s: float = 0,
    masters: int = 1,
    lost: int = 1,
) -> tuple[BusCycle, ...]:
    """The bus cycle at each bit rate, slowest first; parameters as for `cycle_answer`."""
    in_range("number of masters", masters, 1, LAST_USABLE, source="addresses 1 to 125")
    exchanges = [
        replace(station, min_slave_interval_s=max(interval_s, station.min_slave_interval_s)) for station in stations
    ]
    return tuple(
        bus_cycle(
            exchanges,
            bit_rate=rate,
            others=[OtherMaster()] * (masters - 1),
            lost=lost,
            delay_bits=signal_delay_bits(length_m=length_m, bit_rate=rate, repeaters=repeaters),
        )
        for rate in bit_rates()
    )


def answer_on_cycles(cycles: Sequence[BusCycle], bit_rate: float, *, lost: int = 1, name: str = "") -> Answer:
    """What is said of the cycle at one bit rate, three ways, with those at all others. name: of the network."""
    here = next(cycle for cycle in cycles if cycle.timing.bit_rate == bit_rate)
    guess = estimate_for(here.exchanges, bit_rate=bit_rate)
    count = len(here.exchanges)
    asked = f"the {count} stations are" if count > 1 else "the station is"
    at = f"{name}: at" if name else "At"
    return Answer(
        f"{at} {bit_rate_text(bit_rate)} {asked} asked once in {time_text(here.typical.seconds)}; "
        f"at best in {time_text(here.best.seconds)}, at worst in {time_text(here.worst.seconds)}.",
        because=f"Calculated in the standard's form, with {counted(lost, 'lost telegram')} in the worst case. "
        f"{_pause(here)}The estimate says {guess}.",
        pictures=[_three_bars(here), _over_the_rates(cycles, bit_rate)],
        rows=_item_rows(here),
        folded=[
            ("The typical cycle, item by item", _part_rows(here.typical)),
            ("At every bit rate", _rate_rows(cycles)),
        ],
        sources=[part.source for part in (*here.typical.parts, *guess.breakdown.parts) if part.source],
    )


def _rate_rows(cycles: Sequence[BusCycle]) -> list[Row]:
    return [
        {
            "bit rate": bit_rate_text(cycle.timing.bit_rate),
            "best": time_text(cycle.best.seconds),
            "typical": time_text(cycle.typical.seconds),
            "worst": time_text(cycle.worst.seconds),
        }
        for cycle in cycles
    ]


def _part_rows(breakdown: Breakdown) -> list[Row]:
    return [
        {"item": part.name, "bit times": round(part.bits), "why": part.why, "source": part.source or "calculated"}
        for part in breakdown.parts
    ]


def _pause(cycle: BusCycle) -> str:
    """A sentence if the cycle is stretched for a station that asks for a pause."""
    waiting_s = cycle.typical.group_bits("wait") / cycle.timing.bit_rate
    return f"Of the typical cycle {time_text(waiting_s)} is waiting for the slowest station. " if waiting_s else ""


def _three_bars(cycle: BusCycle) -> Curves:
    rows, times = compare(cycle), []
    for label, form in zip(("standard's form", "handbook's form", "estimate"), _FORMS, strict=True):
        parts = tuple((row.name, float(getattr(row, form))) for row in rows)
        times.append(TimeBar(label, parts, time_text(sum(length for _, length in parts) / cycle.timing.bit_rate)))
    return bars(times, "bit times", width=400)


def _item_rows(cycle: BusCycle) -> list[Row]:
    """Each item by each form, in bit times, why they differ, and the total."""
    items = [row for row in compare(cycle) if any(getattr(row, form) for form in _FORMS)]
    heads = ("standard, bit", "handbook, bit", "estimate, bit")
    rows: list[Row] = [
        {"item": row.name, **{h: round(getattr(row, f)) for h, f in zip(heads, _FORMS, strict=True)}, "why": row.reason}
        for row in items
    ]
    totals = {h: round(sum(getattr(row, f) for row in items)) for h, f in zip(heads, _FORMS, strict=True)}
    return [*rows, {"item": "together", **totals, "why": ""}]


def _over_the_rates(cycles: Sequence[BusCycle], bit_rate: float) -> Curves:
    """Best, typical and worst cycle at each bit rate, the estimate where it is valid, and the chosen rate."""
    says = "; ".join(
        f"{bit_rate_text(cycle.timing.bit_rate)} {time_text(cycle.typical.seconds)} "
        f"({time_text(cycle.best.seconds)} to {time_text(cycle.worst.seconds)})"
        for cycle in cycles
    )
    kbit_s = [cycle.timing.bit_rate / 1000 for cycle in cycles]
    best, typical, worst = (
        [getattr(cycle, case).seconds * 1000 for cycle in cycles] for case in ("best", "typical", "worst")
    )
    guesses = [estimate_for(cycle.exchanges, bit_rate=cycle.timing.bit_rate) for cycle in cycles]
    valid = [(rate, guess.seconds * 1000) for rate, guess in zip(kbit_s, guesses, strict=True) if guess.valid]
    rates, estimated = zip(*valid, strict=True)
    times_ms = [*best, *worst, *estimated]
    low, high = min(times_ms) / 1.3, max(times_ms) * 1.3
    return Curves(
        f"bus cycle over the bit rate: {says}",
        Axis("bit rate in kbit/s", kbit_s[0] / 1.2, kbit_s[-1] * 1.2, log=True,
             ticks=decades(kbit_s[0], kbit_s[-1], "{:g}".format)),
        Axis("bus cycle", low, high, log=True, ticks=decades(low, high, lambda ms: time_text(ms / 1000))),
        [Curve(kbit_s, typical, "typical"), Curve(rates, estimated, "estimate", Tone.OTHER)],
        areas=[Area(best, worst, kbit_s, "best to worst", Tone.MAIN)],
        upright=[bit_rate / 1000],
        width=440,
        height=200,
    )  # fmt: skip


# -- what a longer format costs -----------------------------------------------------------------------


def step_answer(before: str, after: str, drives: int, bit_rate: float = 1_500_000) -> Answer:
    """What it costs to give every drive another format, at each bit rate. before, after: names of formats."""
    exchanges = [_exchange(name) for name in (before, after)]
    costs = step_cost(before=exchanges[:1] * drives, after=exchanges[1:] * drives)
    here = next(cost for cost in costs if cost.bit_rate == bit_rate)
    change = exchanges[1].data_bytes - exchanges[0].data_bytes
    word = "longer" if change > 0 else "shorter" if change < 0 else "no longer and no shorter"
    messages = [message_cycle(exchange, bit_rate=bit_rate) for exchange in exchanges]
    rows: list[Row] = [
        {
            "bit rate": bit_rate_text(cost.bit_rate),
            f"all {before}": time_text(cost.before_s),
            f"all {after}": time_text(cost.after_s),
            "difference": time_text(cost.extra_s, signed=True),
            "share": percent(cost.share, signed=True),
            "chosen": "◀" if cost is here else "",
        }
        for cost in costs
    ]
    return Answer(
        f"With {counted(drives, 'drive')} at {bit_rate_text(bit_rate)}, {after} instead of {before} "
        f"makes the cycle {word}: {time_text(here.before_s)} → {time_text(here.after_s)}.",
        because=f"{abs(change)} bytes {'less' if change < 0 else 'more'} for each drive, 11 bit times for each byte, "
        f"{drives} times in each cycle. Request and answer also have parts that carry no data and stay the same.",
        pictures=[bars([_message_bar(*named) for named in zip((before, after), messages, strict=True)], "bit times")],
        rows=rows,
        sources=[part.source for message in messages for part in message.parts],
    )


def _exchange(format_name: str) -> Exchange:
    data = formats.by_name(format_name)
    return Exchange(data.bytes_out, data.bytes_in, name=data.name)


def _message_bar(name: str, message: Breakdown) -> TimeBar:
    return TimeBar(name, tuple((part.name, part.bits) for part in message.parts), time_text(message.seconds))


# -- from input to output, and the watchdog -----------------------------------------------------------


def response_answer(
    stations: tuple[Exchange, ...],
    bit_rate: float = 1_500_000,
    controller_s: float = 0.020,
    other: str = ALONE,
    watchdog_s: float = 0.2,
    input_s: float = 0.0,
    output_s: float = 0.0,
) -> Answer:
    """Response time, watchdog and target rotation time of one controller, with or without a second master.

    Parameters: stations; bit_rate [bit/s]; controller_s, one run of the program [s]; other, one of `OTHERS`;
    watchdog_s as set in the stations [s], 0 for off; input_s and output_s, delays inside the two stations [s].
    """
    one_of("other master", other, OTHERS)
    alone = bus_cycle(stations, bit_rate=bit_rate)
    cycle = bus_cycle(stations, bit_rate=bit_rate, others=_other_masters(other, stations))
    response = response_time(cycle, controller_cycle_s=controller_s, input_delay_s=input_s, output_delay_s=output_s)
    watchdog = check_watchdog(watchdog_s, cycle, place="station")
    best, average, worst = (time_text(getattr(response, case).seconds) for case in _CASES)
    fits = "fits" if watchdog.degree is Degree.IN_ORDER else "does not fit"
    return Answer(
        f"From input to output: {average} on average, {worst} at worst, {best} at best. "
        f"The watchdog ({watchdog.found}) {fits}.",
        watchdog.degree,
        because=" ".join(filter(None, (f"Watchdog {watchdog.allowed}.", watchdog.to_do))),
        caution=_runs_on(watchdog_s),
        pictures=[bars([_response_bar(response, case) for case in _CASES], "time in ms")],
        rows=_response_rows(alone, cycle, watchdog_s, other),
        folded=[
            ("From input to output, step by step", _step_rows(response)),
            ("The target rotation time, item by item", _part_rows(propose_target_rotation(cycle))),
        ],
        sources=[watchdog.source, "response time: calculated; bus and program run without regard to each other"],
    )


def _other_masters(other: str, stations: tuple[Exchange, ...]) -> tuple[OtherMaster, ...]:
    if other == ALONE:
        return ()
    return (OtherMaster(),) if other == COMPUTER else (OtherMaster("second controller", stations),)


def _runs_on(watchdog_s: float) -> tuple[Caution, ...]:
    until = f"for up to {time_text(watchdog_s)}, until its watchdog ends" if watchdog_s else "without end: it is off"
    runs_on = f"If the controller or the cable fails, a drive runs on with its last setpoint {until}."
    return (Caution(WARNING, f"{runs_on} The watchdog is no emergency stop. That works without the bus."),)


def _response_bar(response: ResponseTime, case: str) -> TimeBar:
    chain = getattr(response, case)
    parts = tuple((step.name, round(step.seconds * 1000, 4)) for step in chain.steps)
    return TimeBar(case, parts, time_text(chain.seconds))


def _response_rows(alone: BusCycle, cycle: BusCycle, watchdog_s: float, other: str) -> list[Row]:
    target = propose_target_rotation(cycle)
    proposal = propose_watchdog(cycle, target_rotation_s=target.seconds if other != ALONE else 0)
    target_bits = f"{target.bits:,.0f}".replace(",", " ")
    rows = [
        ("bus cycle, typical", cycle.typical.seconds, "every station asked once, nothing lost"),
        ("bus cycle, worst", cycle.worst.seconds, "slowest answers, one telegram lost"),
    ]
    if other != ALONE:
        extra_s = cycle.typical.seconds - alone.typical.seconds
        without = f"without it the typical cycle is {time_text(alone.typical.seconds)}"
        rows.append(("of it the second master", extra_s, without))
    rows.append(("target rotation time", target.seconds, f"proposed: {target_bits} bit times"))
    rows.append(("watchdog proposed", proposal.factors.time_s, f"{proposal}: {proposal.why}"))
    if watchdog_s:
        reserve = f"{watchdog_s / cycle.worst.seconds:.1f} times the worst cycle fit into it"
        rows.append(("watchdog set", watchdog_s, reserve + _next_time(watchdog_s)))
    return [{"what": what, "time": time_text(seconds), "how": how} for what, seconds, how in rows]


def _next_time(watchdog_s: float) -> str:
    """What will be set instead of a time that no two factors give, in words; empty where two factors give it."""
    if not BASES_S[0] <= watchdog_s <= BASES_S[0] * FACTOR_MOST**2:
        return ""
    factors = watchdog_factors(watchdog_s)
    if isclose(factors.time_s, watchdog_s):
        return ""
    product = f"{time_text(factors.base_s)} · {factors.factor_1} · {factors.factor_2}"
    return f"; two factors do not give it, the next is {time_text(factors.time_s)} = {product}"


def _step_rows(response: ResponseTime) -> list[Row]:
    rows: list[Row] = []
    for n, step in enumerate(response.best.steps):
        times = {case: time_text(getattr(response, case).steps[n].seconds) for case in _CASES}
        rows.append({"step": step.name, **times, "why": step.why})
    return rows
