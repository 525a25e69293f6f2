"""Questions on what the plant notices: target rotation time, watchdog, response time, a second master.

They belong to the bank `helpers.study.bank_cycle_time`.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.message_cycle import Exchange
from helpers.bus.response import response_time
from helpers.bus.timing import BusTiming, bit_rate_text, bus_timing, rule, telegram_bits
from helpers.bus.watchdog import BASES_S, propose_target_rotation, propose_watchdog, watchdog_time_s
from helpers.study.forms import Number
from helpers.study.question import Draw, Question, Slip

DRIVES = ("intake conveyor", "bucket elevator", "dryer fan 1", "dryer fan 2", "cooling fan", "discharge screw")
RATES = (187_500, 500_000, 1_500_000, 3_000_000, 6_000_000, 12_000_000)
MS = Number("ms", "time", relative=0.005)


@dataclass(frozen=True)
class Line:
    """Stations that are all alike, at one bit rate, and what a text says of them."""

    stations: int
    out: int
    into: int
    bit_rate: int

    @property
    def exchange(self) -> Exchange:
        """What each of the stations exchanges."""
        return Exchange(self.out, self.into)

    @property
    def timing(self) -> BusTiming:
        """The usual bus parameters at the bit rate."""
        return bus_timing(self.bit_rate)

    @property
    def told(self) -> str:
        """The stations in words."""
        return f"{self.stations} drives, each with {self.out} bytes out and {self.into} bytes in"

    @property
    def rate(self) -> str:
        """The bit rate in words."""
        return bit_rate_text(self.bit_rate)

    def cycle(self, *others: OtherMaster) -> BusCycle:
        """The bus cycle, with other masters if there are any."""
        return bus_cycle([self.exchange] * self.stations, bit_rate=self.bit_rate, others=others)

    def us(self, bits: float) -> float:
        """Bit times in µs."""
        return round(bits / self.bit_rate * 1e6, 4)

    def ms(self, bits: float) -> float:
        """Bit times in ms."""
        return round(bits / self.bit_rate * 1e3, 5)

    def division(self, bits: float, unit: str) -> str:
        """The step from bit times to a time, in words."""
        time = self.us(bits) if unit == "µs" else self.ms(bits)
        return f"{bits:g} bit / {self.bit_rate / 1000:g} kbit/s = {time:.6g} {unit}."


def draw_line(draw: Draw) -> Line:
    """A line as a plant may have it."""
    return Line(draw.whole(4, 30), 2 * draw.whole(2, 14), 2 * draw.whole(2, 14), draw.pick(RATES))


def target_rotation(draw: Draw) -> Question:
    """A target rotation time by the workbook's practice."""
    line = draw_line(draw)
    cycle = line.cycle()
    proposal = propose_target_rotation(cycle)
    worst, message = (part.bits for part in proposal.parts[:2])
    share = rule("rotation reserve")
    return Question(
        f"The worst cycle of a line at {line.rate} is {worst:g} bit times, the typical one {cycle.typical.bits:g}. One "
        f"acyclic message takes up to {message:g} bit times. By common practice {share * 100:g} % of both together "
        "come on top.\nWhich target rotation time (TTR) do you set? Answer in bit times.",
        Number("bit times", relative=0.001, also=("bit", "tbit")),
        float(proposal.bits),
        steps=(
            "Start from the longest rotation to be expected, leave room for the message, then add the reserve.",
            f"{worst:g} + {message:g} = {worst + message:g} bit times.",
            f"{share * 100:g} % of it are {proposal.parts[2].bits:g}; together {proposal.bits:g} bit times.",
        ),
        slips=(
            Slip(float(worst + message), "The reserve is missing."),
            Slip(float(worst), "No acyclic message has room in it, and no reserve is left."),
            Slip(
                float(round((cycle.typical.bits + message) * (1 + share))),
                "The typical cycle is exceeded now and then; start from the worst.",
            ),
            Slip(float(round(worst * (1 + share))), "Leave room for one acyclic message too."),
        ),
    )


def watchdog_proposal(draw: Draw) -> Question:
    """The shortest watchdog with the usual reserve, in steps of 10 ms."""
    line = Line(draw.whole(8, 30), 2 * draw.whole(2, 14), 2 * draw.whole(2, 14), draw.pick(RATES[:3]))
    cycle, times = line.cycle(), rule("watchdog rotations")
    found = propose_watchdog(cycle)
    worst, typical = (round(one.seconds * 1e3, 3) for one in (cycle.worst, cycle.typical))
    factors = found.factors
    answer, step = round(factors.time_s * 1e3, 3), BASES_S[0] * 1e3
    up = "" if factors.factor_1 == 1 else f" As two factors: {factors.factor_1} and {factors.factor_2}."
    return Question(
        f"A line at {line.rate} has a typical cycle of {typical:g} ms and a worst cycle of {worst:g} ms. By common "
        f"practice the watchdog outlasts {times:g} worst cycles. It is set as {step:g} ms · WD_Fact_1 · WD_Fact_2, "
        f"factors 1 to 255.\nWhich is the shortest watchdog that you set? Answer in ms.",
        Number("ms", "time"),
        answer,
        steps=(
            "Multiply the longest cycle, then go up to the next time that can be set.",
            f"{times:g} × {worst:g} ms = {times * worst:.6g} ms.",
            f"The next time in steps of {step:g} ms is {answer:g} ms.{up}",
        ),
        slips=(
            Slip(worst, "A watchdog as long as the cycle stops the drive at the first lost telegram."),
            Slip(round(times * worst, 3), f"That can't be set: only whole steps of {step:g} ms can."),
            Slip(
                round(propose_watchdog(cycle, rotations=1).factors.time_s * 1e3, 3),
                f"That outlasts one worst cycle only. Common practice takes {times:g}.",
            ),
            Slip(round(answer - step, 3), "Rounded down it is too short. Round up."),
            Slip(typical, "Start from the worst cycle, and leave a reserve."),
        ),
    )


def watchdog_from_factors(draw: Draw) -> Question:
    """The watchdog time that two factors give."""
    one, two = draw.whole(2, 20), draw.whole(3, 250)
    short = draw.pick((False, False, True))
    base_s, other_s = (BASES_S[1], BASES_S[0]) if short else BASES_S
    answer = round(watchdog_time_s(one, two, base_s=base_s) * 1e3, 3)
    told = "the base of 1 ms is chosen" if short else "the base is the usual 10 ms"
    return Question(
        f"The parameters of the {draw.pick(DRIVES)} drive hold WD_Fact_1 = {one} and WD_Fact_2 = {two}; {told}.\n"
        "After how long without a request does the drive leave data exchange? Answer in ms.",
        Number("ms", "time"),
        answer,
        steps=(
            "The watchdog time is the base multiplied by both factors.",
            f"{base_s * 1e3:g} ms × {one} × {two} = {answer:g} ms.",
            "Until then the drive runs on with its last setpoint. The watchdog is no emergency stop.",
        ),
        slips=(
            Slip(round(watchdog_time_s(one, two, base_s=other_s) * 1e3, 3), "That is with the other base."),
            Slip(round(base_s * 1e3 * (one + two), 3), "The factors are multiplied, not added."),
            Slip(round(base_s * 1e3 * two, 3), "Both factors count."),
            Slip(float(one * two), "The base is missing."),
        ),
    )


def response_worst(draw: Draw) -> Question:
    """The longest way from input to output through the controller."""
    line = draw_line(draw)
    program_ms = draw.whole(5, 60, 5)
    cycle = line.cycle()
    found = response_time(cycle, controller_cycle_s=program_ms / 1000)
    worst = round(cycle.worst.seconds * 1e3, 4)
    request, answer = (line.ms(telegram_bits("SD2", n)) for n in (line.out, line.into))
    result = round(found.worst.seconds * 1e3, 5)
    return Question(
        f"A switch is wired to the {draw.pick(DRIVES)} drive, and its signal is to stop the same drive over the "
        f"controller. Worst bus cycle {worst:.5g} ms; program cycle {program_ms} ms; answer {answer:.4g} ms and "
        f"request {request:.4g} ms on the wire. Delays inside the drive are left out. Bus and program run without "
        "regard to each other.\nHow long does it take at worst from the switch to the new command in the drive? "
        "Answer in ms.",
        Number("ms", "time", relative=0.01),
        result,
        steps=(
            "Go along the way and wait as long as possible at each of its three stops: bus, program, bus again.",
            f"Wait for the bus {worst:.5g} ms, answer {answer:.4g} ms.",
            f"Wait for the program {program_ms} ms, then one run of it {program_ms} ms.",
            f"Wait for the bus again {worst:.5g} ms, request {request:.4g} ms. Together {result:.5g} ms.",
            "A stop that protects people does not go this way: it works without bus and program.",
        ),
        slips=(
            Slip(worst, "The bus cycle is not the response time: program and waits come on top."),
            Slip(round(found.best.seconds * 1e3, 5), "That is the best case, in which nothing has just been missed."),
            Slip(round(found.average.seconds * 1e3, 5), "That is the average. Asked is the worst."),
            Slip(round(result - program_ms, 5), "The program may just have read its inputs: wait for it, then run it."),
            Slip(round(result - worst, 5), "The bus is waited for twice: on the way in and on the way out."),
        ),
    )


def second_master(draw: Draw) -> Question:
    """The rotation of the token with a second controller."""
    line = draw_line(draw)
    other = Line(draw.whole(2, 20), 2 * draw.whole(2, 14), 2 * draw.whole(2, 14), line.bit_rate)
    mine, theirs = line.cycle().typical.bits, other.cycle().typical.bits
    both = line.cycle(OtherMaster("second controller", (other.exchange,) * other.stations)).typical.bits
    idle = line.cycle(OtherMaster()).typical.bits
    return Question(
        f"At {line.rate} one controller alone needs {mine:g} bit times for its cycle, another one on its own network "
        f"{theirs:g} bit times; token and gap poll are counted in both. Now both are joined to one bus.\n"
        "How often is a drive of the first one asked? Answer with the time between two requests in ms.",
        MS,
        line.ms(both),
        steps=(
            "The token goes round: each controller asks its own stations when it has it, then the other one does.",
            f"{mine:g} + {theirs:g} = {both:g} bit times.",
            line.division(both, "ms"),
        ),
        slips=(
            Slip(line.ms(mine), "The second controller is forgotten: while it has the token, the first one waits."),
            Slip(line.ms(theirs), "That is the other one's share alone."),
            Slip(line.ms(max(mine, theirs)), "They share one cable, so they take turns and do not speak at once."),
            Slip(line.ms(idle), "The other one does not only pass the token on: it asks its own stations."),
            Slip(line.ms((mine + theirs) / 2), "The times add up; a mean says nothing here."),
        ),
    )
