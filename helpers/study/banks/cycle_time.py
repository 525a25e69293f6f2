"""Questions on bus time: from the bit to the answer of the plant. Each slip is calculated by making the mistake.

The drives are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle, handbook_cycle
from helpers.bus.time.message_cycle import Exchange, lost_message_bits, message_cycle
from helpers.bus.time.response import response_time
from helpers.bus.time.timing import BusTiming, bus_timing, rule, rule_bits, telegram_bits, wire_bits
from helpers.bus.time.watchdog import BASES_S, propose_target_rotation, propose_watchdog, watchdog_time_s
from helpers.device import formats as data_formats
from helpers.study.forms import Number
from helpers.study.mill import DRIVES
from helpers.study.question import Draw, Kind, Question, Slip

_CHARACTER = rule_bits("character")
_ELEVEN_BITS = "A byte has 11 bits on the wire: start, 8 data bits, parity, stop."
_FRAME = telegram_bits("SD2", 1) - _CHARACTER  # an SD2 without its data, in bit times
_US = Number("µs", "time", relative=0.005)
_RATES = (187_500, 500_000, 1_500_000, 3_000_000, 6_000_000, 12_000_000)
_MS = Number("ms", "time", relative=0.005)


def _bus_parameters(line: EqualDrives) -> list[dict[str, object]]:
    """The bus parameters that a question gives, in bit times."""
    timing = line.timing
    parameters = (
        ("TSDR, shortest (min TSDR)", timing.min_tsdr_bits),
        ("TSDR, usual", rule_bits("typical TSDR")),
        ("TSDR, longest (max TSDR)", timing.max_tsdr_bits),
        ("TID1, silence before the next request", timing.tid1_bits),
        ("TSL, slot time", timing.tsl_bits),
    )
    return [{"bus parameter": name, "bit times": time_bits} for name, time_bits in parameters]


@dataclass(frozen=True)
class EqualDrives:
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
    def in_words(self) -> str:
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


def drawn_drives(draw: Draw) -> EqualDrives:
    """A line as a plant may have it."""
    return EqualDrives(draw.whole(4, 30), 2 * draw.whole(2, 14), 2 * draw.whole(2, 14), draw.pick(_RATES))


def telegram_time(draw: Draw) -> Question:
    """How long a telegram is on the wire."""
    line = drawn_drives(draw)
    data = line.out
    octets, bits = data + telegram_bits("SD2", 1) // _CHARACTER - 1, telegram_bits("SD2", data)
    return Question(
        f"A request to the {draw.pick(DRIVES)} drive carries {data} data bytes in a telegram of the kind SD2. SD2, LE, "
        f"LEr, SD2, DA, SA, FC, FCS and ED come on top.\nHow long is it on the wire at {line.rate}? Answer in µs.",
        _US,
        line.us(bits),
        steps=(
            "Count all octets of the telegram, then the bits of each on the wire.",
            f"{data} data bytes and {octets - data} others: {octets} octets.",
            f"{octets} octets × {_CHARACTER} bit = {bits} bit times.",
            line.division(bits, "µs"),
        ),
        slips=(
            Slip(line.us(8 * octets), _ELEVEN_BITS),
            Slip(line.us(wire_bits(data)), "The frame around the data takes time too: count all octets."),
            Slip(float(bits), "Those are bit times. Divide by the bit rate."),
            Slip(line.ms(bits), "That is the time in ms; asked are µs."),
        ),
    )


def message_time(draw: Draw) -> Question:
    """One message cycle with the usual TSDR."""
    line = drawn_drives(draw)
    message = message_cycle(line.exchange, bit_rate=line.bit_rate)
    bits, parts = message.bits, {part.name: part.bits for part in message.parts}
    both = parts["request"] + parts["answer"]
    return Question(
        f"The {draw.pick(DRIVES)} drive gets {line.out} bytes and sends back {line.into} bytes, both in an SD2 "
        f"telegram ({_CHARACTER}n + {_FRAME} bit times). It answers in the usual time; the cable is short.\n"
        f"How long is its message cycle at {line.rate}, up to the moment when the next request may begin? "
        "Answer in µs.",
        _US,
        line.us(bits),
        rows=_bus_parameters(line),
        steps=(
            "Add request, TSDR, answer and TID1; all in bit times.",
            f"Request {_CHARACTER} · {line.out} + {_FRAME} = {parts['request']} bit, "
            f"answer {_CHARACTER} · {line.into} + {_FRAME} = {parts['answer']} bit.",
            f"{parts['request']} + {parts['TSDR']} + {parts['answer']} + {parts['TID1']} = {bits:g} bit times.",
            line.division(bits, "µs"),
        ),
        slips=(
            Slip(line.us(both * 8 / _CHARACTER + parts["TSDR"] + parts["TID1"]), _ELEVEN_BITS),
            Slip(line.us(parts["request"] + parts["TID1"]), "The answer and the time before it belong to the cycle."),
            Slip(line.us(both), "The silences count too: TSDR before the answer, TID1 behind it."),
            Slip(line.us(both + parts["TSDR"]), "After the answer comes TID1, before anybody may speak."),
            Slip(float(bits), "Those are bit times. Divide by the bit rate."),
        ),
    )


def longest_message(draw: Draw) -> Question:
    """One message cycle with the longest TSDR."""
    line = drawn_drives(draw)
    longest, shortest, usual = (
        message_cycle(line.exchange, bit_rate=line.bit_rate, tsdr=tsdr).bits
        for tsdr in ("longest", "shortest", "typical")
    )
    both = telegram_bits("SD2", line.out) + telegram_bits("SD2", line.into)
    timing = line.timing
    return Question(
        f"Request and answer of the {draw.pick(DRIVES)} drive together take {both} bit times at {line.rate}.\n"
        "How long is its message cycle at most, if nothing is lost? Answer in µs.",
        _US,
        line.us(longest),
        rows=_bus_parameters(line),
        steps=(
            "Find the slowest answer that is still permitted; then add the telegrams and the silence behind them.",
            f"The slowest permitted answer comes after max TSDR, {timing.max_tsdr_bits} bit times.",
            f"{both} + {timing.max_tsdr_bits} + {timing.tid1_bits} = {longest:g} bit times.",
            line.division(longest, "µs"),
        ),
        slips=(
            Slip(line.us(shortest), "min TSDR is the soonest that a station may answer. Asked is the latest."),
            Slip(line.us(usual), "That is the usual case. Asked is the longest."),
            Slip(line.us(both + timing.tsl_bits + timing.tid1_bits), "TSL is waited out only if nobody answers."),
            Slip(line.us(both + timing.max_tsdr_bits), "The silence TID1 behind the answer belongs to the cycle."),
        ),
    )


def cycle_time(draw: Draw) -> Question:
    """The typical bus cycle of a line of equal drives."""
    line = drawn_drives(draw)
    message = message_cycle(line.exchange, bit_rate=line.bit_rate).bits
    bits, timing = line.cycle().typical.bits, line.timing
    token, poll = telegram_bits("token"), telegram_bits("SD1")
    gap = poll + timing.tsl_bits
    return Question(
        f"One controller at {line.rate} asks {line.in_words}. One message cycle takes {message:g} bit times. In each "
        f"cycle come the token ({token} bit) with TID1 behind it, and one gap poll that nobody answers ({poll} bit, "
        "then the slot time).\nHow long is the bus cycle? Answer in ms.",
        _MS,
        line.ms(bits),
        rows=_bus_parameters(line),
        steps=(
            "Add the message cycles of all drives, the token with its silence, and the gap poll.",
            f"{line.stations} × {message:g} = {line.stations * message:g} bit times.",
            f"Token {token} + {timing.tid1_bits} = {token + timing.tid1_bits} bit. "
            f"Gap poll {poll} + {timing.tsl_bits} = {gap} bit.",
            f"Together {bits:g} bit times.",
            line.division(bits, "ms"),
        ),
        slips=(
            Slip(line.ms(message), "That is one drive. The cycle asks all of them once."),
            Slip(line.ms(line.stations * message), "Token and gap poll come in each cycle too."),
            Slip(line.ms(bits - line.stations * timing.tid1_bits), "Each message ends with the silence TID1."),
            Slip(line.us(bits), "That is the time in µs; asked are ms."),
        ),
    )


def format_step(draw: Draw) -> Question:
    """What another format for all drives costs in each cycle."""
    line = drawn_drives(draw)
    short, long = sorted(draw.some(data_formats.ppo_types(), 2), key=lambda data_format: data_format.bytes_both)
    before, after = (
        bus_cycle(
            [Exchange(data_format.bytes_out, data_format.bytes_in)] * line.stations, bit_rate=line.bit_rate
        ).typical.bits
        for data_format in (short, long)
    )
    extra, bits = long.bytes_both - short.bytes_both, after - before
    return Question(
        f"{line.stations} drives at {line.rate} have {short.name} ({short.bytes_out} bytes out, {short.bytes_in} in); "
        f"their cycle takes {line.ms(before):.4g} ms. All of them get {long.name} ({long.bytes_out} bytes out, "
        f"{long.bytes_in} in).\nHow long is the cycle then? Answer in ms.",
        _MS,
        line.ms(after),
        steps=(
            "Find what is added for one drive, then for all, and add it to the cycle before.",
            f"{long.bytes_both} − {short.bytes_both} = {extra} bytes, {extra} × {_CHARACTER} = "
            f"{extra * _CHARACTER} bit times for each drive.",
            f"{line.stations} × {extra * _CHARACTER} = {bits:g} bit times, that is {line.ms(bits):.5g} ms.",
            f"{line.ms(before):.5g} + {line.ms(bits):.5g} = {line.ms(after):.5g} ms.",
        ),
        slips=(
            Slip(line.ms(before + bits / line.stations), "The step is paid for each drive, not once for the network."),
            Slip(line.ms(before + bits / 2), "The bytes grow in both directions."),
            Slip(line.ms(before + bits * 8 / _CHARACTER), _ELEVEN_BITS),
            Slip(line.ms(bits), "That is the difference. Asked is the whole cycle."),
        ),
    )


def lost_telegram(draw: Draw) -> Question:
    """What one lost telegram costs in the worst case."""
    line = drawn_drives(draw)
    bits = lost_message_bits(line.exchange, bit_rate=line.bit_rate)
    request, answer, timing = telegram_bits("SD2", line.out), telegram_bits("SD2", line.into), line.timing
    late = request + timing.max_tsdr_bits + answer + timing.tid1_bits
    which = "Lost answers cost more here." if late >= request + timing.tsl_bits else "The lost request costs more here."
    return Question(
        f"A telegram of the {draw.pick(DRIVES)} drive is spoilt at {line.rate}: either the request ({request} bit), so "
        f"that the slot time runs out; or the answer ({answer} bit), which comes as late as permitted, with the "
        "silence behind it. Then the controller asks again.\nBy how much is the cycle longer, in the worse of the two "
        "cases? Answer in µs.",
        _US,
        line.us(bits),
        rows=_bus_parameters(line),
        steps=(
            "Add up both cases and take the longer one.",
            f"Request spoilt: {request} + {timing.tsl_bits} = {request + timing.tsl_bits} bit times.",
            f"Answer spoilt: {request} + {timing.max_tsdr_bits} + {answer} + {timing.tid1_bits} = {late} bit times. "
            f"{which}",
            line.division(bits, "µs"),
        ),
        slips=(
            Slip(line.us(timing.tsl_bits), "The telegram that was spoilt took its time too."),
            Slip(line.us(request), "Before it asks again, the controller waits."),
            Slip(line.us(min(late, request + timing.tsl_bits)), "That is the better of the two cases."),
            Slip(
                line.us(late - timing.max_tsdr_bits + timing.min_tsdr_bits),
                "Take the latest answer, not the soonest.",
            ),
        ),
    )


def handbook_form(draw: Draw) -> Question:
    """What the handbook's sum has more than the standard's, for the messages alone."""
    line = drawn_drives(draw)
    cycle = line.cycle()
    ours, theirs = (
        cycle_sum.group_bits("message")
        for cycle_sum in (cycle.typical, handbook_cycle(cycle.exchanges, bit_rate=line.bit_rate))
    )
    bits, syn_bits, timing = theirs - ours, rule_bits("TSYN"), line.timing
    fixed = rule_bits("handbook TID1")
    empty = 2 * _FRAME + rule_bits("typical TSDR")
    printed = empty + fixed + syn_bits
    return Question(
        f"A message cycle at {line.rate} is {empty} + {_CHARACTER} · bytes + TID1 in the standard's form, with TID1 = "
        f"{timing.tid1_bits} bit times. The handbook counts {printed} + {_CHARACTER} · bytes at every bit rate: it "
        f"takes {fixed} for TID1 and adds TSYN ({syn_bits}) besides.\nFor {line.in_words}: by how many bit times are "
        "the handbook's messages longer? A negative number means shorter. Answer in bit times.",
        Number("bit times", also=("bit", "tbit")),
        float(bits),
        steps=(
            "Take the difference for one drive; the bytes are the same in both forms and fall out.",
            f"{printed} − {empty} − {timing.tid1_bits} = {bits / line.stations:g} bit times for each drive.",
            f"{line.stations} × {bits / line.stations:g} = {bits:g} bit times.",
        ),
        slips=(
            Slip(float(bits / line.stations), f"That is one drive. There are {line.stations}."),
            Slip(
                float(printed * line.stations), "That is all of the handbook's part without data, not the difference."
            ),
            Slip(float(-bits), "The sign is the wrong way round: handbook less standard."),
            Slip(float(bits + line.stations * syn_bits), "TSYN is added once to each message."),
        ),
    )


def target_rotation(draw: Draw) -> Question:
    """A target rotation time by the workbook's practice."""
    line = drawn_drives(draw)
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
    line = EqualDrives(draw.whole(8, 30), 2 * draw.whole(2, 14), 2 * draw.whole(2, 14), draw.pick(_RATES[:3]))
    cycle, times = line.cycle(), rule("watchdog rotations")
    proposal = propose_watchdog(cycle)
    worst, typical = (round(cycle_part.seconds * 1e3, 3) for cycle_part in (cycle.worst, cycle.typical))
    factors = proposal.factors
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
    factor_1, factor_2 = draw.whole(2, 20), draw.whole(3, 250)
    short = draw.pick((False, False, True))
    base_s, other_s = (BASES_S[1], BASES_S[0]) if short else BASES_S
    answer = round(watchdog_time_s(factor_1, factor_2, base_s=base_s) * 1e3, 3)
    base_in_words = "the base of 1 ms is chosen" if short else "the base is the usual 10 ms"
    return Question(
        f"The parameters of the {draw.pick(DRIVES)} drive hold WD_Fact_1 = {factor_1} and WD_Fact_2 = {factor_2}; "
        f"{base_in_words}.\nAfter how long without a request does the drive leave data exchange? Answer in ms.",
        Number("ms", "time"),
        answer,
        steps=(
            "The watchdog time is the base multiplied by both factors.",
            f"{base_s * 1e3:g} ms × {factor_1} × {factor_2} = {answer:g} ms.",
            "Until then the drive runs on with its last setpoint. The watchdog is no emergency stop.",
        ),
        slips=(
            Slip(round(watchdog_time_s(factor_1, factor_2, base_s=other_s) * 1e3, 3), "That is with the other base."),
            Slip(round(base_s * 1e3 * (factor_1 + factor_2), 3), "The factors are multiplied, not added."),
            Slip(round(base_s * 1e3 * factor_2, 3), "Both factors count."),
            Slip(float(factor_1 * factor_2), "The base is missing."),
        ),
    )


def response_worst(draw: Draw) -> Question:
    """The longest way from input to output through the controller."""
    line = drawn_drives(draw)
    program_ms = draw.whole(5, 60, 5)
    cycle = line.cycle()
    response = response_time(cycle, controller_cycle_s=program_ms / 1000)
    worst = round(cycle.worst.seconds * 1e3, 4)
    request, answer = (line.ms(telegram_bits("SD2", n)) for n in (line.out, line.into))
    answer_ms = round(response.worst.seconds * 1e3, 5)
    return Question(
        f"A switch is wired to the {draw.pick(DRIVES)} drive, and its signal is to stop the same drive over the "
        f"controller. Worst bus cycle {worst:.5g} ms; program cycle {program_ms} ms; answer {answer:.4g} ms and "
        f"request {request:.4g} ms on the wire. Delays inside the drive are left out. Bus and program run without "
        "regard to each other.\nHow long does it take at worst from the switch to the new command in the drive? "
        "Answer in ms.",
        Number("ms", "time", relative=0.01),
        answer_ms,
        steps=(
            "Go along the way and wait as long as possible at each of its three stops: bus, program, bus again.",
            f"Wait for the bus {worst:.5g} ms, answer {answer:.4g} ms.",
            f"Wait for the program {program_ms} ms, then one run of it {program_ms} ms.",
            f"Wait for the bus again {worst:.5g} ms, request {request:.4g} ms. Together {answer_ms:.5g} ms.",
            "A stop that protects people does not go this way: it works without bus and program.",
        ),
        slips=(
            Slip(worst, "The bus cycle is not the response time: program and waits come on top."),
            Slip(
                round(response.best.seconds * 1e3, 5), "That is the best case, in which nothing has just been missed."
            ),
            Slip(round(response.average.seconds * 1e3, 5), "That is the average. Asked is the worst."),
            Slip(
                round(answer_ms - program_ms, 5), "The program may just have read its inputs: wait for it, then run it."
            ),
            Slip(round(answer_ms - worst, 5), "The bus is waited for twice: on the way in and on the way out."),
        ),
    )


def second_master(draw: Draw) -> Question:
    """The rotation of the token with a second controller."""
    line = drawn_drives(draw)
    other = EqualDrives(draw.whole(2, 20), 2 * draw.whole(2, 14), 2 * draw.whole(2, 14), line.bit_rate)
    mine, theirs = line.cycle().typical.bits, other.cycle().typical.bits
    both = line.cycle(OtherMaster("second controller", (other.exchange,) * other.stations)).typical.bits
    idle = line.cycle(OtherMaster()).typical.bits
    return Question(
        f"At {line.rate} one controller alone needs {mine:g} bit times for its cycle, another one on its own network "
        f"{theirs:g} bit times; token and gap poll are counted in both. Now both are joined to one bus.\n"
        "How often is a drive of the first one asked? Answer with the time between two requests in ms.",
        _MS,
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


KINDS: dict[str, Kind] = {
    "telegram-time": telegram_time,
    "message-time": message_time,
    "longest-message": longest_message,
    "cycle-time": cycle_time,
    "format-step": format_step,
    "lost-telegram": lost_telegram,
    "handbook-form": handbook_form,
    "target-rotation": target_rotation,
    "watchdog": watchdog_proposal,
    "watchdog-factors": watchdog_from_factors,
    "response": response_worst,
    "second-master": second_master,
}
