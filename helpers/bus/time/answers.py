"""What is said of time on the bus: a telegram of the rotation, the bus cycle, a longer format, the way from input to
output.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from math import isclose

from helpers.answer import Answer, Row
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.response import ResponseTime, response_time
from helpers.bus.time.rotation import AGAIN, ANSWER, GAP, TOKEN, Polled, Spoken, rotation
from helpers.bus.time.timing import rule_bits, rule_source
from helpers.bus.time.watchdog import (
    BASES_S,
    FACTOR_MOST,
    check_watchdog,
    propose_target_rotation,
    propose_watchdog,
    watchdog_factors,
)
from helpers.caution import WARNING, Caution
from helpers.errors import in_range, one_of
from helpers.quantity import time_text
from helpers.verdict import Degree

ALONE, COMPUTER, SECOND = OTHERS = ("none", "engineering computer, idle", "second controller, as many stations")
_CASES = ("best", "average", "worst")


@dataclass(frozen=True)
class Bar:
    """A time as a bar: its label, its parts with their lengths in one unit, and the whole in words."""

    label: str
    parts: tuple[tuple[str, float], ...]
    total: str


@dataclass(frozen=True)
class BarsPicture:
    """Times as bars to one scale; equal parts have equal numbers."""

    bars: tuple[Bar, ...]
    width: int = 760

    @property
    def says(self) -> str:
        """Each bar with its parts."""
        return "; ".join(
            f"{bar.label} {bar.total}: " + ", ".join(f"{name} {length:g}" for name, length in bar.parts)
            for bar in self.bars
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
        pictures=[BarsPicture(tuple(_response_bar(response, case) for case in _CASES))],
        rows=_response_rows(alone, cycle, watchdog_s, other),
        folded=[
            ("From input to output, step by step", _step_rows(response)),
            ("The target rotation time, item by item", _rotation_items(cycle)),
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


def _response_bar(response: ResponseTime, case: str) -> Bar:
    chain = getattr(response, case)
    parts = tuple((step.name, round(step.seconds * 1000, 4)) for step in chain.steps)
    return Bar(case, parts, time_text(chain.seconds))


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


def _rotation_items(cycle: BusCycle) -> list[Row]:
    return [
        {"item": part.name, "bit times": round(part.bits), "why": part.why, "source": part.source or "calculated"}
        for part in propose_target_rotation(cycle).parts
    ]
