"""Questions on bus time: from the bit to the answer of the plant. Each slip is calculated by making the mistake.

The drives are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from helpers.bus.cycle import bus_cycle, handbook_cycle
from helpers.bus.message_cycle import Exchange, lost_message_bits, message_cycle
from helpers.bus.timing import rule_bits, telegram_bits, wire_bits
from helpers.device import formats as data_formats
from helpers.study.forms import Number
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.study.questions_on_response import (
    DRIVES,
    MS,
    Line,
    draw_line,
    response_worst,
    second_master,
    target_rotation,
    watchdog_from_factors,
    watchdog_proposal,
)

_CHARACTER = rule_bits("character")
_EIGHT = "A byte has 11 bits on the wire: start, 8 data bits, parity, stop."
_FRAME = telegram_bits("SD2", 1) - _CHARACTER  # an SD2 without its data, in bit times
_US = Number("µs", "time", relative=0.005)


def _given(line: Line) -> list[dict[str, object]]:
    """The bus parameters that a question gives, in bit times."""
    timing = line.timing
    listed = (
        ("TSDR, shortest (min TSDR)", timing.min_tsdr_bits),
        ("TSDR, usual", rule_bits("typical TSDR")),
        ("TSDR, longest (max TSDR)", timing.max_tsdr_bits),
        ("TID1, silence before the next request", timing.tid1_bits),
        ("TSL, slot time", timing.tsl_bits),
    )
    return [{"bus parameter": name, "bit times": bits} for name, bits in listed]


def telegram_time(draw: Draw) -> Question:
    """How long a telegram is on the wire."""
    line = draw_line(draw)
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
            Slip(line.us(8 * octets), _EIGHT),
            Slip(line.us(wire_bits(data)), "The frame around the data takes time too: count all octets."),
            Slip(float(bits), "Those are bit times. Divide by the bit rate."),
            Slip(line.ms(bits), "That is the time in ms; asked are µs."),
        ),
    )


def message_time(draw: Draw) -> Question:
    """One message cycle with the usual TSDR."""
    line = draw_line(draw)
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
        rows=_given(line),
        steps=(
            "Add request, TSDR, answer and TID1; all in bit times.",
            f"Request {_CHARACTER} · {line.out} + {_FRAME} = {parts['request']} bit, "
            f"answer {_CHARACTER} · {line.into} + {_FRAME} = {parts['answer']} bit.",
            f"{parts['request']} + {parts['TSDR']} + {parts['answer']} + {parts['TID1']} = {bits:g} bit times.",
            line.division(bits, "µs"),
        ),
        slips=(
            Slip(line.us(both * 8 / _CHARACTER + parts["TSDR"] + parts["TID1"]), _EIGHT),
            Slip(line.us(parts["request"] + parts["TID1"]), "The answer and the time before it belong to the cycle."),
            Slip(line.us(both), "The silences count too: TSDR before the answer, TID1 behind it."),
            Slip(line.us(both + parts["TSDR"]), "After the answer comes TID1, before anybody may speak."),
            Slip(float(bits), "Those are bit times. Divide by the bit rate."),
        ),
    )


def longest_message(draw: Draw) -> Question:
    """One message cycle with the longest TSDR."""
    line = draw_line(draw)
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
        rows=_given(line),
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
    line = draw_line(draw)
    message = message_cycle(line.exchange, bit_rate=line.bit_rate).bits
    bits, timing = line.cycle().typical.bits, line.timing
    token, poll = telegram_bits("token"), telegram_bits("SD1")
    gap = poll + timing.tsl_bits
    return Question(
        f"One controller at {line.rate} asks {line.told}. One message cycle takes {message:g} bit times. In each cycle "
        f"come the token ({token} bit) with TID1 behind it, and one gap poll that nobody answers ({poll} bit, then "
        "the slot time).\nHow long is the bus cycle? Answer in ms.",
        MS,
        line.ms(bits),
        rows=_given(line),
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


def lost_telegram(draw: Draw) -> Question:
    """What one lost telegram costs in the worst case."""
    line = draw_line(draw)
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
        rows=_given(line),
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
                line.us(late - timing.max_tsdr_bits + timing.min_tsdr_bits), "Take the latest answer, not the soonest."
            ),
        ),
    )


def format_step(draw: Draw) -> Question:
    """What another format for all drives costs in each cycle."""
    line = draw_line(draw)
    short, long = sorted(draw.some(data_formats.ppo_types(), 2), key=lambda one: one.bytes_both)
    before, after = (
        bus_cycle([Exchange(one.bytes_out, one.bytes_in)] * line.stations, bit_rate=line.bit_rate).typical.bits
        for one in (short, long)
    )
    extra, bits = long.bytes_both - short.bytes_both, after - before
    return Question(
        f"{line.stations} drives at {line.rate} have {short.name} ({short.bytes_out} bytes out, {short.bytes_in} in); "
        f"their cycle takes {line.ms(before):.4g} ms. All of them get {long.name} ({long.bytes_out} bytes out, "
        f"{long.bytes_in} in).\nHow long is the cycle then? Answer in ms.",
        MS,
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
            Slip(line.ms(before + bits * 8 / _CHARACTER), _EIGHT),
            Slip(line.ms(bits), "That is the difference. Asked is the whole cycle."),
        ),
    )


def handbook_form(draw: Draw) -> Question:
    """What the handbook's sum has more than the standard's, for the messages alone."""
    line = draw_line(draw)
    cycle = line.cycle()
    ours, theirs = (
        one.group_bits("message") for one in (cycle.typical, handbook_cycle(cycle.exchanges, bit_rate=line.bit_rate))
    )
    bits, syn, timing = theirs - ours, rule_bits("TSYN"), line.timing
    fixed = rule_bits("handbook TID1")
    empty = 2 * _FRAME + rule_bits("typical TSDR")
    printed = empty + fixed + syn
    return Question(
        f"A message cycle at {line.rate} is {empty} + {_CHARACTER} · bytes + TID1 in the standard's form, with TID1 = "
        f"{timing.tid1_bits} bit times. The handbook counts {printed} + {_CHARACTER} · bytes at every bit rate: it "
        f"takes {fixed} for TID1 and adds TSYN ({syn}) besides.\nFor {line.told}: by how many bit times are the "
        "handbook's messages longer? A negative number means shorter. Answer in bit times.",
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
            Slip(float(bits + line.stations * syn), "TSYN is added once to each message."),
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
