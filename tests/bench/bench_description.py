"""Speed of reading a device description: a file of 5 MB, made of an invented one. The aim is 3 s."""

from helpers import facts
from helpers.device.description.checks import check
from helpers.device.description.read import read_description

MODULAR = (facts.DATA / "demo/descriptions/Mil_FFF1.gsd").read_text()
SIZE = 5_000_000


def big(size=SIZE):
    """A description as large as that: modules, parameters with their texts, and diagnosis bits, no two alike."""
    parts, length, number = [MODULAR], len(MODULAR), 100
    while length < size:
        number += 1
        part = f"""
; module {number}
PrmText = {number}
Text(0) = "terminal {number} off"
Text(1) = "terminal {number} on"
EndPrmText
ExtUserPrmData = {number} "mode of terminal {number}"
BitArea(0-3) 1 0-1
Prm_Text_Ref = {number}
EndExtUserPrmData
Module = "terminal {number}" 0x42,0x00,0x{number & 0xFF:02X},0x10
{number}
Ext_Module_Prm_Data_Len = 4
Ext_User_Prm_Data_Const(0) = 0x01,0x{number >> 8 & 0xFF:02X},0x{number & 0xFF:02X},0x00
Ext_User_Prm_Data_Ref(3) = {number}
Info_Text = "made up for a measurement"
EndModule
Unit_Diag_Bit({number}) = "terminal {number} has a broken wire"
"""
        parts.append(part)
        length += len(part)
    return "".join(parts).encode()


def test_reading_5_mb(benchmark):
    octets = big()
    description = benchmark.pedantic(read_description, (octets,), rounds=3)
    assert len(description.modules) > 5000
    assert description.problems == ()


def test_reading_the_demo_description(benchmark):
    assert benchmark(read_description, MODULAR.encode()).problems == ()


def test_checking_the_demo_description(benchmark):
    assert benchmark(check, read_description(MODULAR.encode()))
