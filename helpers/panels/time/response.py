"""The panel of response time: from an input to the plant's answer, with the watchdog, and with a second master."""

from __future__ import annotations

from math import isclose

from helpers.answer import Answer, Row
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.response import ResponseTime, response_time
from helpers.bus.time.watchdog import (
    BASES_S,
    FACTOR_MOST,
    check_watchdog,
    propose_target_rotation,
    propose_watchdog,
    watchdog_factors,
)
from helpers.caution import WARNING, Caution
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.panels.time.cycle import bars, demo_stations, read_stations
from helpers.quantity import time_text
from helpers.verdict import Degree

ALONE, COMPUTER, SECOND = "none", "engineering computer, idle", "second controller, as many stations"
_CASES = ("best", "average", "worst")


def response_view(
    stations: tuple[Exchange, ...],
    bit_rate: float = 1_500_000,
    controller_s: float = 0.020,
    other: str = ALONE,
    watchdog_s: float = 0.2,
    input_s: float = 0.0,
    output_s: float = 0.0,
) -> Answer:
    """Response time, watchdog and target rotation time of one controller, with or without a second master.

    Parameters: stations; bit_rate [bit/s]; controller_s, one run of the program [s]; other, one of three; watchdog_s
    as set in the stations [s], 0 for off; input_s and output_s, delays inside the two stations [s].
    """
    alone = bus_cycle(stations, bit_rate=bit_rate)
    cycle = bus_cycle(stations, bit_rate=bit_rate, others=_others(other, stations))
    found = response_time(cycle, controller_cycle_s=controller_s, input_delay_s=input_s, output_delay_s=output_s)
    watchdog = check_watchdog(watchdog_s, cycle, place="station")
    best, average, worst = (time_text(getattr(found, case).seconds) for case in _CASES)
    fits = "fits" if watchdog.degree is Degree.IN_ORDER else "does not fit"
    return Answer(
        f"From input to output: {average} on average, {worst} at worst, {best} at best. "
        f"The watchdog ({watchdog.found}) {fits}.",
        watchdog.degree,
        because=" ".join(filter(None, (f"Watchdog {watchdog.allowed}.", watchdog.to_do))),
        caution=_caution(watchdog_s),
        pictures=[bars([_bar(found, case) for case in _CASES], width=760)],
        rows=_rows(alone, cycle, watchdog_s, other),
        folded=[
            ("From input to output, step by step", _steps(found)),
            ("The target rotation time, item by item", _items(cycle)),
        ],
        sources=[watchdog.source, "response time: calculated; bus and program run without regard to each other"],
    )


def _others(other: str, stations: tuple[Exchange, ...]) -> tuple[OtherMaster, ...]:
    if other == ALONE:
        return ()
    return (OtherMaster(),) if other == COMPUTER else (OtherMaster("second controller", stations),)


def _caution(watchdog_s: float) -> tuple[Caution, ...]:
    until = f"for up to {time_text(watchdog_s)}, until its watchdog ends" if watchdog_s else "without end: it is off"
    runs_on = f"If the controller or the cable fails, a drive runs on with its last setpoint {until}."
    return (Caution(WARNING, f"{runs_on} The watchdog is no emergency stop. That works without the bus."),)


def _bar(found: ResponseTime, case: str) -> tuple[str, list[tuple[str, float]], str]:
    chain = getattr(found, case)
    return case, [(step.name, round(step.seconds * 1000, 4)) for step in chain.steps], time_text(chain.seconds)


def _rows(alone: BusCycle, cycle: BusCycle, watchdog_s: float, other: str) -> list[Row]:
    target = propose_target_rotation(cycle)
    proposal = propose_watchdog(cycle, target_rotation_s=target.seconds if other != ALONE else 0)
    rows: list[Row] = [
        _row("bus cycle, typical", cycle.typical.seconds, "every station asked once, nothing lost"),
        _row("bus cycle, worst", cycle.worst.seconds, "slowest answers, one telegram lost"),
    ]
    if other != ALONE:
        extra = cycle.typical.seconds - alone.typical.seconds
        rows.append(_row("of it the second master", extra, f"without it the typical cycle is {_text(alone)}"))
    rows.append(
        _row("target rotation time", target.seconds, f"proposed: {target.bits:,.0f} bit times".replace(",", " "))
    )
    rows.append(_row("watchdog proposed", proposal.factors.time_s, f"{proposal}: {proposal.why}"))
    if watchdog_s:
        reserve = f"{watchdog_s / cycle.worst.seconds:.1f} times the worst cycle fit into it"
        rows.append(_row("watchdog set", watchdog_s, reserve + _next_time(watchdog_s)))
    return rows


def _next_time(watchdog_s: float) -> str:
    """What will be set instead of a time that no two factors give, in words; empty where two factors give it."""
    if not BASES_S[0] <= watchdog_s <= BASES_S[0] * FACTOR_MOST**2:
        return ""
    found = watchdog_factors(watchdog_s)
    if isclose(found.time_s, watchdog_s):
        return ""
    product = f"{time_text(found.base_s)} · {found.factor_1} · {found.factor_2}"
    return f"; two factors do not give it, the next is {time_text(found.time_s)} = {product}"


def _row(what: str, seconds: float, how: str) -> Row:
    return {"what": what, "time": time_text(seconds), "how": how}


def _text(cycle: BusCycle) -> str:
    return time_text(cycle.typical.seconds)


def _steps(found: ResponseTime) -> list[Row]:
    rows: list[Row] = []
    for n, step in enumerate(found.best.steps):
        times = {case: time_text(getattr(found, case).steps[n].seconds) for case in _CASES}
        rows.append({"step": step.name, **times, "why": step.why})
    return rows


def _items(cycle: BusCycle) -> list[Row]:
    return [
        {"item": part.name, "bit times": round(part.bits), "why": part.why, "source": part.source or "calculated"}
        for part in propose_target_rotation(cycle).parts
    ]


def response_panel() -> Panel:
    """From an input to the output: response time, watchdog, target rotation time, and a second master."""
    return Panel(
        "From input to output, and the watchdog",
        {
            "stations": fields.lines("stations", demo_stations(), read_stations, rows=5),
            "bit_rate": fields.bit_rate(1_500_000),
            "controller_s": fields.with_unit("program cycle", "20 ms", "time", "ms", 0, 100),
            "other": fields.choice("other master", (ALONE, COMPUTER, SECOND)),
            "watchdog_s": fields.with_unit("watchdog set", "200 ms", "time", "ms", 0, 1000),
            "input_s": fields.with_unit("delay, input side", "3 ms", "time", "ms", 0, 100),
            "output_s": fields.with_unit("delay, output side", "4 ms", "time", "ms", 0, 100),
        },
        response_view,
        hint="The first station is input and output. Its delays are in its manual. Watchdog 0 means off. The stations "
        "are those of the invented Saltmarsh Mill.",
    )
