"""A service as telegrams: the controller's request, and the station's answer to it.

Which access points and functions belong to a service are rows of `data/saps.csv` and `data/service_forms.csv`.

Data_Exchange has short forms: without outputs its request is an SD1, without inputs its answer is SC (an
SD2 can't be empty, as its LE is at least 4). An answer with high priority (DH) says that the station has a new
diagnosis.
"""

from __future__ import annotations

from functools import cache

from helpers import facts
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import ABSENT, Frame, frame
from helpers.errors import one_of

EVERYBODY = facts.one("address_ranges", meaning="broadcast").whole("low")
MASTER_SAP = facts.one("saps", side="controller", service="cyclic services").whole("sap")


@cache
def services() -> tuple[str, ...]:
    """The services whose telegrams can be put together.

    >>> services()[:3]
    ('Data_Exchange', 'Ext_User_Prm', 'Set_Slave_Add')
    """
    return tuple(row["service"] for row in facts.rows("service_forms"))


@cache
def sap_of(service: str) -> int:
    """The station's access point of a service; `ABSENT` for Data_Exchange. Raises `Unknown` for another service.

    >>> sap_of("Slave_Diag"), sap_of("Data_Exchange")
    (60, -1)
    """
    one_of("service", service, services())
    row = facts.one("saps", side="station", service=service)
    return row.whole("sap") if row.has("sap") else ABSENT


@cache
def service_at(sap: int) -> str:
    """The service of a station's access point, or an empty text where the table has none.

    >>> service_at(61), service_at(-1), service_at(12)
    ('Set_Prm', 'Data_Exchange', '')
    """
    found = facts.where("saps", side="station", sap="" if sap == ABSENT else sap)
    return found[0]["service"] if found else ""


@cache
def answered_by(service: str) -> str:
    """What a station answers to a service: `data`, `SC` or `none`; an empty text where no table says it."""
    found = facts.where("service_forms", service=service)
    return found[0]["answer"] if found else ""


@cache
def _form(service: str) -> facts.Fact:
    return facts.one("service_forms", service=service)


def request(service: str, *, to: int, sender: int, data: bytes = b"", count: str = "not counted") -> Frame:
    r"""The controller's telegram for a service.

    Parameters: service, one of `services()`; to, the station's address, 127 for all; sender, the controller's; data,
    the octets of the service; count, the frame count of a service that is answered. Raises `Unknown`, `OutOfRange`.

    >>> request("Slave_Diag", to=5, sender=1, count="first").octets.hex(" ").upper()
    '68 05 05 68 85 81 6D 3C 3E ED 16'
    >>> request("Data_Exchange", to=5, sender=1, data=b"\x04\x7f", count="counted, 1").octets.hex(" ").upper()
    '68 05 05 68 05 01 7D 04 7F 06 16'
    >>> request("Data_Exchange", to=5, sender=1, count="counted, 1").kind
    'SD1'
    >>> request("Global_Control", to=127, sender=1, data=b"\x02\x00").octets.hex(" ").upper()
    '68 07 07 68 FF 81 46 3A 3E 02 00 40 16'
    """
    sap = sap_of(service)
    form = _form(service)
    code = function_code.request(form["function"], "not counted" if form["answer"] == "none" else count)
    own = ABSENT if sap == ABSENT else MASTER_SAP
    return frame(to=to, sender=sender, fc=code, data=data, dsap=sap, ssap=own)


def answer(asked: Frame, data: bytes = b"", *, function: str = "DL") -> Frame:
    r"""The station's telegram: data back from the access point that was asked, or SC where there is none.

    Parameters: asked, the request; data, the octets of the answer; function, as in the table: DL, DH, or a refusal such
    as RS, which goes out as SD1. Raises `Unknown`, `OutOfRange`.

    >>> asked = request("Get_Cfg", to=5, sender=1, count="counted, 0")
    >>> answer(asked, b"\xf1").octets.hex(" ").upper()
    '68 06 06 68 81 85 08 3E 3B F1 78 16'
    >>> answer(asked, function="RS").octets.hex(" ").upper()
    '10 01 05 03 09 16'
    """
    code = function_code.answer(function)
    if not data:
        if function == "DL":
            return Frame("SC")
        return frame(to=asked.sender, sender=asked.receiver, fc=code)
    return frame(to=asked.sender, sender=asked.receiver, fc=code, data=data, dsap=asked.ssap, ssap=asked.dsap)
