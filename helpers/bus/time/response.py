"""Response time: from a change at an input, through the controller's program, to the output of a station.

Three clocks run without regard to each other: the bus cycle, the controller's program cycle and the
stations themselves. How well they happen to meet decides where between best and worst the time falls.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.time.cycle import BusCycle
from helpers.bus.time.message_cycle import Exchange, message_cycle
from helpers.errors import in_range, one_of


@dataclass(frozen=True)
class Step:
    """One step on the way from input to output, with the sentence that explains it."""

    name: str
    seconds: float
    why: str


@dataclass(frozen=True)
class Chain:
    """All steps from input to output in one case; the total is the sum of the steps."""

    title: str
    steps: tuple[Step, ...]

    @property
    def seconds(self) -> float:
        """The total in seconds."""
        return sum(step.seconds for step in self.steps)


@dataclass(frozen=True)
class ResponseTime:
    """The response time if everything meets well, on average, and if everything has just been missed."""

    best: Chain
    average: Chain
    worst: Chain


def response_time(
    cycle: BusCycle,
    *,
    controller_cycle_s: float,
    input_station: Exchange | None = None,
    output_station: Exchange | None = None,
    input_delay_s: float = 0,
    output_delay_s: float = 0,
) -> ResponseTime:
    """From an input to an output through a controller that reads at the start and writes at the end of a cycle.

    Best: input delay + answer + program + request + output delay, each wait being 0.
    Worst: each of the three waits is a whole cycle: the station has just been asked, the program has just
    read its inputs, the output's station has just been served.
    Average: half a cycle for each wait, as the three clocks are independent. It uses the typical bus cycle,
    best and worst use theirs.

    Parameters: cycle of the bus; controller_cycle_s, one run of the program [s]; the stations of input and
    output, exchanges of that cycle, the first one if left out; the delays inside the two stations [s].
    Raises `OutOfRange` for negative times, `Unknown` for a station that is not in the cycle.
    Source: calculated. Validity: bus and program run unsynchronised, nothing is lost in best and average.

    >>> from helpers.bus.time.cycle import bus_cycle
    >>> bus = bus_cycle([Exchange(outputs=12, inputs=12)] * 6, bit_rate=1_500_000)
    >>> times = response_time(bus, controller_cycle_s=0.020)
    >>> [round(case.seconds * 1000, 2) for case in (times.best, times.average, times.worst)]
    [20.31, 32.72, 46.95]
    """
    for name, value in (("cycle of the controller", controller_cycle_s), ("input delay", input_delay_s)):
        in_range(name, value, 0, 1e3, "s")
    in_range("output delay", output_delay_s, 0, 1e3, "s")
    source, target = input_station or cycle.exchanges[0], output_station or cycle.exchanges[0]
    for station in (source, target):
        one_of("station", station, cycle.exchanges)

    answer_s = _part_s(source, cycle, "answer")
    request_s = _part_s(target, cycle, "request")

    def chain(case: str, share: float, bus_s: float) -> Chain:
        # share: which part of a cycle is lost at each of the three waits.
        return Chain(
            f"Response time, {case}",
            (
                Step("input delay", input_delay_s, "until the station holds the new value"),
                Step("wait for the bus", share * bus_s, "until the station is asked again"),
                Step("answer", answer_s, "the inputs travel to the controller"),
                Step("wait for the program", share * controller_cycle_s, "until the program reads its inputs"),
                Step("program", controller_cycle_s, "one run, at the end of which the outputs are written"),
                Step("wait for the bus again", share * bus_s, "until the output's station is served"),
                Step("request", request_s, "the outputs travel to the station"),
                Step("output delay", output_delay_s, "until the station acts on the new value"),
            ),
        )

    return ResponseTime(
        best=chain("best", 0, cycle.best.seconds),
        average=chain("average", 0.5, cycle.typical.seconds),
        worst=chain("worst", 1, cycle.worst.seconds),
    )


def _part_s(station: Exchange, cycle: BusCycle, name: str) -> float:
    """How long a telegram of a station's message cycle takes, in seconds."""
    whole = message_cycle(station, bit_rate=cycle.timing.bit_rate, timing=cycle.timing)
    return next(part.bits for part in whole.parts if part.name == name) / whole.bit_rate
