"""Put a telegram together: from whom, to whom, which service, which data; and see its octets."""

from __future__ import annotations

from helpers.answer import Answer
from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.services import message
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import Frame, frame, write
from helpers.bus.time.timing import telegram_bits, wire_bits
from helpers.errors import OutOfRange, Unreadable, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.panels.telegrams.telegrams import octet_rows, telegram_drawing
from helpers.safe_work import cautions

TOKEN, STATUS = "token", "FDL status"
# Octets to begin with, by service; the ident number is one that no device holds, the station is an invented drive.
_READY = {
    "Data_Exchange": "04 7F 20 00",
    "Set_Prm": "88 01 14 0B FF F1 00",
    "Chk_Cfg": "F5",
    "Global_Control": "00 00",
    "Set_Slave_Add": "0D FF F1 00",
}
_ANSWERS = {"data": "a telegram with data, or SC where there is none", "SC": "SC, one octet", "none": "nobody"}


def made(service: str, *, sender: int, to: int, data: bytes = b"", count: str = "counted, 1") -> Frame:
    """The telegram of a controller: a service, a status request, or the token.

    Parameters: service, `token`, `FDL status` or one of `message.services()`; sender and to, addresses; data, its
    octets; count, the frame count. Raises `OutOfRange`, `Unknown`, `Unreadable` for data where none belong.

    >>> made("token", sender=1, to=2).octets.hex(" ").upper()
    'DC 02 01'
    """
    if service in (TOKEN, STATUS) and data:
        raise Unreadable(f"a {service} telegram carries no data; leave the data empty.")
    if service == TOKEN:
        token = Frame("token", to, sender)
        write(token)  # refuses an address that no station has
        return token
    if to == message.EVERYBODY and (service == STATUS or message.answered_by(service) != "none"):
        raise OutOfRange(f"to all (127) goes only what nobody answers; {service} is answered, so name one station.")
    if service == STATUS:
        return frame(to=to, sender=sender, fc=function_code.request(STATUS))
    if not data and service in ("Set_Prm", "Chk_Cfg", "Global_Control", "Set_Slave_Add"):
        raise Unreadable(f"{service} has nothing to say without data; type its octets as hexadecimal.")
    return message.request(service, to=to, sender=sender, data=data, count=count)


def maker_view(service: str, sender: int, to: int, data: bytes, count: str) -> Answer:
    """The octets of a telegram that was put together, each explained."""
    (one,) = telegram_meaning.read(made(service, sender=sender, to=to, data=data, count=count).octets)
    octets, bits = len(one.octets), wire_bits(len(one.octets))
    if service == TOKEN:
        answer = "Nobody answers a token."
    elif service == STATUS:
        answer = f"A station that is there answers with an SD1 of {telegram_bits('SD1')} bit times."
    else:
        answer = f"It is answered by {_ANSWERS[message.answered_by(service) or 'data']}."
    return Answer(
        f"{one.octets.hex(' ').upper() if octets <= 40 else one.octets[:40].hex(' ').upper() + ' …'}",
        because=f"{one.kind}, {octets} octets, {bits} bit times on the wire. {answer}",
        caution=cautions("telegram") if data else (),
        pictures=[telegram_drawing(one)],
        rows=octet_rows(one),
        sources=[f"{line.name}: {line.source}" for line in one.lines if line.source],
    )


def _data(typed: str) -> bytes:
    found = recording_text.read(typed).octets if typed.strip() else b""
    in_range("data", len(found), 0, 244, "byte")
    return found


def maker_panel() -> Panel:
    """Put a telegram together and see its octets; another service brings its own data to begin with."""
    services = (*message.services(), STATUS, TOKEN)
    service, data = fields.choice("service", services), fields.text("data", _READY[services[0]], _data)

    def begin(change: dict[str, str]) -> None:
        data.widget.value = _READY.get(change["new"], "")

    service.widget.observe(begin, "value")
    return Panel(
        "Put a telegram together",
        {
            "service": service,
            "sender": fields.whole("from station", "1", 0, 126),
            "to": fields.whole("to station", "12", 0, 127),
            "data": data,
            "count": fields.choice("frame count", function_code.COUNTS, "counted, 1"),
        },
        maker_view,
        hint="Change one value at a time and watch which octets follow: FCS does nearly always. To 127 means to all; "
        "only what nobody answers may go there. Data is hexadecimal.",
    )
