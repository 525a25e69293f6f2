"""Questions on who speaks when, and what a telegram is. Each slip is calculated by making the mistake on purpose.

The stations are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from functools import reduce
from operator import xor

from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.telegram.frame import ED, SD2, fcs
from helpers.bus.time.message_cycle import Exchange, message_cycle
from helpers.bus.time.rotation import AGAIN, REQUEST, Polled, rotation
from helpers.bus.time.timing import bus_timing, rule_bits, rule_source, telegram_bits, telegram_octets
from helpers.study.forms import Hexadecimal, Number
from helpers.study.mill import DRIVES
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import octets_text

# A byte alone has 8 bits; on the wire it becomes a character with start, parity and stop bit.
_BYTE = 8
_CHARACTER = rule_bits("character")
_OVERHEAD = telegram_octets("SD2", 1) - 1
_BITS = Number("bit times", also=("bit", "bits", "tbit"))


def may_speak(draw: Draw) -> Question:
    """Who may send, in four situations."""
    name, address = draw.pick(DRIVES), draw.whole(10, 60)
    other = draw.pick([n for n in DRIVES if n != name])
    return draw.pick((_after_a_fault, _after_a_request, _with_a_computer, _between_drives))(
        draw, f"the {name} drive", f"the {other} drive", address
    )


def _after_a_fault(draw: Draw, drive: str, _: str, address: int) -> Question:
    right = "when it asks the drive the next time"
    at_once, token, quiet = "at once, the drive reports it", "when the drive gets the token", "in the next pause"
    return _choice_question(
        draw,
        f"In data exchange {drive} at address {address} trips with a fault.\nWhen does the controller learn of it?",
        right,
        ("A drive never speaks unasked, whatever happens to it.",
         "The fault stands in its next answer. That takes one bus cycle at most, if nothing gets lost."),
        ((at_once, "A drive never speaks unasked, not even for a fault."),
         (token, "Drives never get the token. It goes round among the controllers."),
         (quiet, "The pauses belong to nobody. Whoever is not asked keeps quiet.")),
    )  # fmt: skip


def _after_a_request(draw: Draw, drive: str, other: str, address: int) -> Question:
    right = f"{drive} and nobody else"
    follows, fast, controller = (
        f"{other}, it is next in the list",
        "whoever is fastest",
        "the controller, it goes on asking",
    )
    return _choice_question(
        draw,
        f"The controller has just sent a request to {drive} at address {address}. The line is quiet again.\n"
        "Who may send now, as long as the slot time has not run out?",
        right,
        ("A request gives the right to speak to one station, for one answer.",
         f"The request names address {address}, so only {drive} may answer. If it does not, the slot time runs out and "
         "the controller goes on."),
        ((follows, "It is not asked yet. It has to wait for a request of its own."),
         (fast, "Two who answer at once spoil each other's signals. That is what the address is for."),
         (controller, "It waits for the answer until the slot time has run out.")),
    )  # fmt: skip


def _with_a_computer(draw: Draw, drive: str, _: str, address: int) -> Question:
    right = "after the token has been handed to it"
    at_once, asked, quiet = (
        "at once, it is a master",
        "when it has been asked for its data",
        "whenever the line is quiet",
    )
    return _choice_question(
        draw,
        f"An engineering computer is plugged in to read a value from {drive} at address {address}.\n"
        "When may it send its own request?",
        right,
        ("Two kinds of station: those that begin by themselves, and those that only answer.",
         "A master may begin, but only while it holds the token. The controller finds it in the address gap and "
         "hands it the token when its turn comes."),
        ((at_once, "A master may begin, but only while it holds the token."),
         (asked, "Nobody asks a master for data. It sends its own requests, with the token in hand."),
         (quiet, "The line is quiet before each telegram. Who sends then spoils the next one.")),
    )  # fmt: skip


def _between_drives(draw: Draw, drive: str, other: str, address: int) -> Question:
    right = "by way of the controller: it asks one and tells the other"
    straight, token, call = (
        "straight, drive to drive",
        "in turn, each with the token",
        "the one calls, the other listens",
    )
    return _choice_question(
        draw,
        f"In plain data exchange {other} is to follow the speed of {drive} (address {address}).\n"
        "How does the value get there?",
        right,
        ("Ask who may begin to speak at all.",
         "Neither drive may. The actual value comes to the controller in an answer, and goes out to the other drive in "
         "a later request."),
        ((straight, "A drive answers the controller that asked it, nobody else."),
         (token, "Drives never get the token."),
         (call, "A drive never calls. It answers when it is asked.")),
    )  # fmt: skip


def _choice_question(
    draw: Draw, text: str, right: str, steps: tuple[str, ...], wrong: tuple[tuple[str, str], ...]
) -> Question:
    options = (right, *(option for option, _ in wrong))
    return Question(
        text,
        draw.choice(options),
        right,
        steps=steps,
        slips=tuple(Slip(option, sentence) for option, sentence in wrong),
    )


def telegram_length(draw: Draw) -> Question:
    """The length of a data telegram on the wire."""
    data = draw.whole(2, 32, 2)
    octets = telegram_octets("SD2", data)
    return Question(
        f"The controller sends {data} bytes of outputs to the {draw.pick(DRIVES)} drive, in a data telegram without "
        "access points (SD2).\nHow long is the telegram on the wire? Answer in bit times.",
        _BITS,
        float(telegram_bits("SD2", data)),
        steps=(
            "Count all bytes of the telegram, not only the data; then ask how many bits each one has on the wire.",
            f"Beside the data there are SD2, LE, LEr, SD2, DA, SA, FC, FCS and ED: {_OVERHEAD} bytes. "
            f"{_OVERHEAD} + {data} = {octets} bytes.",
            f"A byte has {_CHARACTER} bits on the wire: start, {_BYTE} data bits, parity, stop "
            f"({rule_source('character')}).",
            f"{octets} × {_CHARACTER} = {octets * _CHARACTER} bit times.",
        ),
        slips=(
            Slip(float(_BYTE * octets), f"On the wire a byte has {_CHARACTER} bits: start, parity and stop bit too."),
            Slip(float(_CHARACTER * data), f"The data do not travel alone: {_OVERHEAD} bytes stand around them."),
            Slip(float(_BYTE * data), f"That is the data alone, and with {_BYTE} bits for a byte."),
            Slip(
                float(telegram_bits("SD2 with SAPs", data)),
                "Two bytes too many: cyclic data go without access points.",
            ),
        ),
    )


def who_to_whom(draw: Draw) -> Question:
    """Who sends a telegram, to whom, and as what."""
    address, controller = draw.whole(10, 60), draw.whole(1, 3)
    data = bytes(draw.whole(0, 255) for _ in range(4))
    telegrams = rotation([Polled(address, "drive", data, data)], bit_rate=1_500_000, controller=controller)
    telegram = telegrams[draw.pick((1, 2))]  # the request or its answer, behind the token
    asks, turned = f"{controller} asks {address}", f"{address} asks {controller}"
    answers, other = f"{address} answers {controller}", f"{controller} answers {address}"
    right, exchanged = (asks, turned) if telegram.kind == REQUEST else (answers, other)
    role_exchanged = answers if telegram.kind == REQUEST else asks
    return Question(
        f"On the line this telegram goes by (hexadecimal):\n{octets_text(telegram.octets)}\n"
        "Who sends it to whom? Addresses in decimal.",
        draw.choice((asks, turned, answers, other)),
        right,
        steps=(
            "Behind the second 68 stand the receiver DA, the sender SA, and the function code FC.",
            f"DA is 16#{telegram.frame.da:02X} = {telegram.receiver}. SA is 16#{telegram.frame.sa:02X} = "
            f"{telegram.sender}.",
            f"FC is 16#{telegram.frame.fc:02X}: bit 6 is {telegram.frame.fc >> 6 & 1}, so it is "
            f"{'a request' if telegram.kind == REQUEST else 'an answer'}. Hence: {right}.",
        ),
        slips=(
            Slip(exchanged, "Receiver and sender are exchanged: the receiver DA stands first."),
            Slip(
                role_exchanged,
                "Bit 6 of FC tells a request (1) from an answer (0), and DA stands before SA.",
            ),
            Slip(
                turned if exchanged == other else other,
                "Look at bit 6 of FC: 1 is a request, 0 is an answer. Only a controller asks.",
            ),
        ),
    )


# From DA to FC: what LE counts beside the data.
_COUNTED = 3


def length_byte(draw: Draw) -> Question:
    """What LE says."""
    data, name = draw.whole(2, 40, 2), draw.pick(DRIVES)
    right = data + _COUNTED
    return Question(
        f"The {name} drive answers with {data} bytes of inputs, without access points.\n"
        "What does the length byte LE of the telegram say? Answer in decimal.",
        Number(),
        float(right),
        steps=(
            "LE tells the receiver how much is to come between the second SD2 and the check sum.",
            f"It counts DA, SA and FC, and the data: {_COUNTED} + {data} = {right}.",
        ),
        slips=(
            Slip(float(data), "LE counts DA, SA and FC too."),
            Slip(float(data + _OVERHEAD), "That is the whole telegram. LE counts from DA to the last byte of data."),
            Slip(float(right + 2), "FCS and ED come behind what LE counts."),
        ),
    )  # fmt: skip


def check_sum(draw: Draw) -> Question:
    """FCS by hand."""
    address = draw.whole(3, 60)
    data = bytes(draw.whole(1, 127) for _ in range(2))
    request = rotation([Polled(address, "drive", data, data)], bit_rate=1_500_000)[1]
    counted, octets = request.octets[4:-2], request.octets
    total = sum(counted)
    in_hex = [f"16#{octet:02X}" for octet in counted]
    wrapped = total > 0xFF
    return Question(
        f"The controller (address 1) sends this request:\n{octets_text(octets[:-2])} FCS {ED:02X}\n"
        "Which value has the check sum FCS? Answer in hexadecimal, two digits.",
        Hexadecimal(2),
        fcs(counted),
        steps=(
            "FCS is the sum of all bytes from DA to the last data byte; only the last two hexadecimal digits are kept.",
            f"DA {in_hex[0]}, SA {in_hex[1]}, FC {in_hex[2]}, data {in_hex[3]} and {in_hex[4]}.",
            f"In decimal: {' + '.join(str(octet) for octet in counted)} = {total}"
            + (f"; {total} − 256 = {total - 256}." if wrapped else "."),
            f"{total & 0xFF} is 16#{total & 0xFF:02X}.",
        ),
        slips=(
            Slip(fcs(octets[:-2]), "The sum begins at DA: both SD2 and both length bytes are left out."),
            Slip(fcs(data), "The addresses and the function code are counted too, not only the data."),
            Slip(reduce(xor, counted), "The bytes are added, not combined bit by bit."),
            Slip(fcs(bytes((*counted, ED))), "ED stands behind the check sum and is not counted."),
            Slip(fcs(bytes((*counted, 1))) if wrapped else fcs(bytes((SD2, *counted))),
                 "What does not fit into one byte is dropped, not added again." if wrapped
                 else "The second SD2 is not counted."),
        ),
    )  # fmt: skip


def poll_time(draw: Draw) -> Question:
    """How long it takes to ask a number of stations once."""
    bit_rate = draw.pick((500_000, 1_500_000))
    count, outputs, inputs = draw.whole(3, 20), draw.whole(2, 12, 2), draw.whole(2, 16, 2)
    cycle = message_cycle(Exchange(outputs, inputs), bit_rate=bit_rate)
    request, tsdr, answer, idle = (part.bits for part in cycle.parts[:4])
    milliseconds = 1000 / bit_rate

    def took(bits: float) -> float:
        return count * bits * milliseconds

    bare = _BYTE * (2 * _OVERHEAD + outputs + inputs) + tsdr + idle
    return Question(
        f"At {bit_rate_text(bit_rate)} a controller asks {count} drives, each with {outputs} bytes out and "
        f"{inputs} bytes in. After each request a drive takes {tsdr:g} bit times to answer (TSDR); after each "
        f"answer the line stays quiet for {idle:g} bit times (TID1).\n"
        "How long does it take to ask them all once, without token and address gap? Answer in ms.",
        Number("ms", "time", relative=0.01),
        round(took(cycle.bits), 6),
        steps=(
            "Work out one drive first: request, TSDR, answer, TID1.",
            f"Request: {_OVERHEAD} + {outputs} bytes × {_CHARACTER} = {request:g} bit times. "
            f"Answer: {_OVERHEAD} + {inputs} bytes × {_CHARACTER} = {answer:g} bit times.",
            f"{request:g} + {tsdr:g} + {answer:g} + {idle:g} = {cycle.bits:g} bit times.",
            f"{count} drives: {count * cycle.bits:g} bit times. At {bit_rate_text(bit_rate)} a bit time is "
            f"{1e6 / bit_rate:.3g} µs: {took(cycle.bits):.4g} ms.",
        ),
        slips=(
            Slip(round(took(bare), 6), f"On the wire a byte has {_CHARACTER} bits, not {_BYTE}."),
            Slip(round(took(request + answer), 6), "The silences are missing: TSDR before and TID1 after each answer."),
            Slip(round(took(request + idle), 6), "Each drive also answers: there are two telegrams for each."),
            Slip(
                round(took(_CHARACTER * (outputs + inputs) + tsdr + idle), 6),
                f"The {_OVERHEAD} bytes around the data are missing, in both telegrams.",
            ),
            Slip(round(took(cycle.bits) / count, 6), "That is one drive. Asked are all of them."),
        ),
    )


def silent_station(draw: Draw) -> Question:
    """What a station costs that does not answer."""
    bit_rate, data = draw.pick((500_000, 1_500_000, 3_000_000, 12_000_000)), draw.whole(4, 24, 2)
    name, tsl = draw.pick(DRIVES), bus_timing(bit_rate).tsl_bits
    telegrams = rotation([Polled(10, name, bytes(data), bytes(data), silent=True)], bit_rate=bit_rate, again=1)
    tries = [telegram for telegram in telegrams if telegram.kind in (REQUEST, AGAIN)]
    request, right = tries[0].bits, sum(telegram.bits + telegram.silence.bits for telegram in tries)
    return Question(
        f"The supply of the {name} drive goes off. At {bit_rate_text(bit_rate)} the slot time is {tsl} bit times. The "
        f"controller's next request to that drive carries {data} bytes of data. Nobody answers, so it is sent once "
        "more.\n"
        "How long does this drive hold up that bus cycle? Answer in bit times.",
        _BITS,
        float(right),
        steps=(
            "Follow the controller: it sends, waits until the slot time has run out, and tries again.",
            f"Request: ({_OVERHEAD} + {data}) × {_CHARACTER} = {request} bit times.",
            f"One try: {request} + {tsl} = {request + tsl} bit times.",
            f"Two tries: 2 × {request + tsl} = {right:g} bit times.",
        ),
        slips=(
            Slip(float(request + tsl), "The request is sent once more, and the controller waits once more."),
            Slip(float(2 * tsl), "The requests themselves take time too."),
            Slip(float(2 * request), "After each request the controller waits until the slot time has run out."),
            Slip(
                float(2 * (_BYTE * (_OVERHEAD + data) + tsl)),
                f"On the wire a byte has {_CHARACTER} bits, not {_BYTE}.",
            ),
            Slip(
                message_cycle(Exchange(data, data), bit_rate=bit_rate).bits,
                "That is what an answer would have taken. A station that is silent costs more.",
            ),
        ),
    )


def token(draw: Draw) -> Question:
    """How much time the tokens of one rotation take."""
    controllers, computers, stations = draw.whole(1, 3), draw.pick((0, 0, 1)), draw.whole(4, 40)
    masters, token_bits = controllers + computers, telegram_bits("token")
    octets = telegram_octets("token")
    beside = ", an engineering computer that takes part in the token ring" if computers else ""
    return Question(
        f"On a line: {controllers} controller{'s' if controllers > 1 else ''}{beside}, and {stations} drives.\n"
        "How long are all token telegrams of one full rotation together, without the silences? Answer in bit times.",
        _BITS,
        float(masters * token_bits),
        steps=(
            "Ask who holds the token in the course of a rotation: each of them hands it on once.",
            f"{masters} master{'s hand' if masters > 1 else ' hands'} it on, a single one to itself. The {stations} "
            "drives never have it.",
            f"A token has {octets} bytes: {octets} × {_CHARACTER} = {token_bits} bit times. "
            f"{masters} × {token_bits} = {masters * token_bits} bit times.",
        ),
        slips=(
            Slip(
                float((masters - 1) * token_bits),
                "A controller that is alone sends the token too, to itself." if masters == 1
                else "The last one hands it back to the first: as many tokens as masters.",
            ),
            Slip(float((masters + stations) * token_bits), "Drives never get the token. They only answer."),
            Slip(float(masters * octets * _BYTE), f"On the wire a byte has {_CHARACTER} bits, not {_BYTE}."),
            Slip(float(masters * telegram_bits("SD1")), f"That is a request. The token has {octets} bytes only."),
        ),
    )  # fmt: skip


def overhead(draw: Draw) -> Question:
    """Which share of a telegram is not data."""
    data, name = draw.whole(2, 40, 2), draw.pick(DRIVES)
    octets = telegram_octets("SD2", data)
    return Question(
        f"The {name} drive answers with {data} bytes of inputs, without access points.\n"
        "Which share of the bytes of its telegram is not data? Answer in %.",
        Number("%", absolute=1.0),
        round(100 * _OVERHEAD / octets, 3),
        steps=(
            "Count the bytes that stand around the data, and divide by all bytes of the telegram.",
            f"SD2, LE, LEr, SD2, DA, SA, FC, FCS and ED: {_OVERHEAD} bytes. All together: {octets} bytes.",
            f"{_OVERHEAD} ÷ {octets} = {100 * _OVERHEAD / octets:.1f} %.",
        ),
        slips=(
            Slip(round(100 * data / octets, 3), "That is the share of the data. Asked is the rest."),
            Slip(round(100 * _OVERHEAD / data, 3), "Divide by all bytes of the telegram, not by the data alone."),
            Slip(
                round(100 * (telegram_octets("SD1") / (telegram_octets("SD1") + data)), 3),
                "LE, its repetition and the second SD2 belong to a data telegram too.",
            ),
        ),
    )


KINDS: dict[str, Kind] = {
    "may-speak": may_speak,
    "telegram-length": telegram_length,
    "who-to-whom": who_to_whom,
    "length-byte": length_byte,
    "check-sum": check_sum,
    "poll-time": poll_time,
    "silent-station": silent_station,
    "token": token,
    "overhead": overhead,
}
