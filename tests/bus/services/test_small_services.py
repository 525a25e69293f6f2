"""Chk_Cfg, Get_Cfg, Global_Control, Set_Slave_Add and Data_Exchange: octets both ways, and what they say."""

from itertools import accumulate

import mangled
import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.services import (
    bits,
    chk_cfg,
    data_exchange,
    diagnosis,
    global_control,
    set_prm,
    set_slave_add,
    slave_diag,
)
from helpers.bus.services.global_control import GlobalControl, Held, apply, outputs
from helpers.bus.services.set_slave_add import SetSlaveAdd
from helpers.device import identifiers
from helpers.errors import OutOfRange, Unknown, Unreadable

octet = st.integers(0, 0xFF)
groups = st.frozensets(st.integers(1, 8))


def covers(lines, octets):
    assert b"".join(line.octets for line in lines) == octets
    sizes = [len(line.octets) for line in lines]
    assert [line.first for line in lines] == [1, *(1 + end for end in accumulate(sizes))][: len(lines)]
    assert all(line.meaning and line.name for line in lines)


# -- configuration ------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", facts.rows("published/identifiers"), ids=lambda row: row["octets"])
def test_published_configurations_both_ways(row):
    octets = bytes.fromhex(row["octets"])
    both_ways(octets, identifiers.decode(octets), decode=chk_cfg.decode, encode=chk_cfg.encode)
    covers(chk_cfg.explain(octets), octets)
    places = row.whole("places")
    assert chk_cfg.summary(octets) == (
        f"{places} place{'s' if places > 1 else ''}, {row['bytes_out']} bytes out, {row['bytes_in']} bytes in"
    )


def test_every_octet_of_a_special_format():
    # ABB FPBA-01 manual p.81, standard telegram 1; roles by WAGO 750-833 manual p.79
    told = chk_cfg.explain(bytes.fromhex("C3 C1 C1 FD 00 01"))
    assert [line.name for line in told][1:4] == [
        "place 1, length of output",
        "place 1, length of input",
        "place 1, vendor octet",
    ]
    assert told[1].meaning == told[2].meaning == "2 words, whole"
    assert told[3].meaning == "the maker gives it its meaning"


def test_why_a_configuration_is_refused():
    sent, own = (identifiers.decode(bytes.fromhex(octets)) for octets in ("F3 F1", "F3 F5 F0"))
    assert chk_cfg.compare(own, own) == ()
    told = chk_cfg.compare(sent, own)
    assert told == (
        "Place 2: the controller sends F1 (output and input 2 words, whole); "
        "the station has F5 (output and input 6 words, whole).",
        "Place 3: the controller sends nothing; the station has F0 (output and input 1 word, whole).",
    )
    assert "the station has nothing" in chk_cfg.compare(own, sent)[1]


# -- Global_Control -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("octets", "flags"),
    # ABB FPBA-01 manual p.122: b1 clear data, b2 unfreeze, b3 freeze, b4 unsync, b5 sync
    [
        ("02 00", {"Clear_Data"}),
        ("04 00", {"Unfreeze"}),
        ("08 00", {"Freeze"}),
        ("10 00", {"Unsync"}),
        ("20 00", {"Sync"}),
    ],
)
def test_published_bits_both_ways(octets, flags):
    both_ways(octets, GlobalControl(frozenset(flags)), decode=global_control.decode, encode=global_control.encode)
    assert [row.name for row in global_control.bit_rows(bytes.fromhex(octets)) if row.value] == [*flags]


@given(st.builds(GlobalControl, st.frozensets(st.sampled_from(bits.names("global_control_bits"))), groups))
def test_commands_are_read_as_they_were_written(command):
    both_ways(command.octets, command, decode=global_control.decode, encode=global_control.encode)
    covers(global_control.explain(command.octets), command.octets)
    assert global_control.summary(command.octets)


def test_groups():
    to_3 = GlobalControl(frozenset({"Freeze"}), frozenset({3}))
    assert to_3.octets == bytes.fromhex("08 04")
    assert global_control.explain(to_3.octets)[1].meaning == "group 3"
    assert global_control.summary(to_3.octets) == "Freeze, group 3"
    assert not global_control.concerns(to_3, frozenset({1, 2}))
    assert global_control.concerns(to_3, frozenset({3, 4}))
    assert global_control.concerns(GlobalControl(), frozenset())  # from memory: 00 is for all
    assert apply(to_3, Held(), groups=frozenset({2})) == Held()
    assert apply(to_3, Held(), groups=frozenset({3})) == Held(freeze=True)
    for wrong in (0, 9):
        with pytest.raises(OutOfRange, match="allowed is 1 to 8"):
            _ = GlobalControl(groups=frozenset({wrong})).octets


@pytest.mark.parametrize(
    ("flags", "before", "after"),
    [
        ({"Sync"}, Held(), Held(sync=True)),
        ({"Unsync"}, Held(sync=True), Held()),
        ({"Sync", "Unsync"}, Held(sync=True), Held()),  # un- wins: ABB FPBA-01 manual p.122
        ({"Freeze", "Unfreeze"}, Held(), Held()),
        (set(), Held(sync=True, freeze=True, clear=True), Held(sync=True, freeze=True)),
        ({"Clear_Data"}, Held(freeze=True), Held(freeze=True, clear=True)),
    ],
)
def test_what_a_station_holds(flags, before, after):
    assert apply(GlobalControl(frozenset(flags)), before) == after


def test_clear_mode_and_fail_safe():
    run, safe = b"\x04\x7f", b"\x04\x7e"
    clear = Held(clear=True)
    assert outputs(Held(), run, length=2) == run
    assert outputs(clear, run, length=2) == bytes(2)
    assert outputs(clear, run, length=2, fail_safe=True) == bytes(2)
    assert outputs(clear, run, length=2, fail_safe=True, safe=safe) == safe
    assert outputs(Held(), b"", length=2, fail_safe=True, safe=safe) == safe  # an empty telegram says the same
    assert outputs(Held(), b"", length=2, fail_safe=True) == bytes(2)
    assert outputs(Held(), b"", length=0) == b""
    with pytest.raises(OutOfRange, match="number of outputs is 0"):
        outputs(Held(), b"", length=2)
    with pytest.raises(OutOfRange, match="number of safe values is 1"):
        outputs(Held(), run, length=2, fail_safe=True, safe=b"\x00")


def test_commands_that_can_not_be():
    with pytest.raises(Unknown, match="known are"):
        _ = GlobalControl(frozenset({"Clear"})).octets
    for size in (0, 1, 3):
        with pytest.raises(OutOfRange, match="allowed is 2 to 2"):
            global_control.decode(bytes(size))
    with pytest.raises(OutOfRange):
        global_control.bit_rows(b"")


# -- Set_Slave_Add ------------------------------------------------------------------------------------


@given(st.builds(SetSlaveAdd, octet, st.integers(0, 0xFFFF), octet, st.binary(max_size=240)))
def test_orders_are_read_as_they_were_written(order):
    both_ways(order.octets, order, decode=set_slave_add.decode, encode=set_slave_add.encode)
    covers(set_slave_add.explain(order.octets), order.octets)
    assert set_slave_add.summary(order.octets)


@pytest.mark.parametrize(
    ("octets", "address", "change"),
    # M. Felser, PROFIBUS Manual, address changes: 0 to 125; 00 may be changed again, FF locked
    [
        ("7D FF F1 00", "125", "may be changed over the bus again"),
        ("7E FF F1 FF", "126: 126 is how a device leaves its maker", "locked"),
        ("80 FF F1 01", "128: An address is one number from 0 to 127", "16#01 is not defined"),
        ("00 FF F1 00", "0: 0 is allowed, but practice keeps it", "again"),
    ],
)
def test_what_an_order_says(octets, address, change):
    lines = set_slave_add.explain(bytes.fromhex(octets))
    assert lines[0].meaning.startswith(address)
    assert lines[1].meaning == "16#FFF1"
    assert change in lines[2].meaning


def test_orders_that_can_not_be():
    for wrong in (SetSlaveAdd(256, 1), SetSlaveAdd(1, 65536), SetSlaveAdd(1, 1, 256), SetSlaveAdd(1, 1, 0, bytes(241))):
        with pytest.raises(OutOfRange):
            _ = wrong.octets
    with pytest.raises(OutOfRange, match="allowed is 4 to 244"):
        set_slave_add.decode(bytes(3))


# -- Data_Exchange ------------------------------------------------------------------------------------


@given(st.binary(max_size=246), st.sampled_from(["output", "input"]))
def test_every_byte_of_the_data_has_a_line(octets, way):
    covers(data_exchange.explain(octets, way), octets)
    moved = data_exchange.explain(octets, way, first=8)
    assert [line.first for line in moved] == list(range(8, 8 + len(octets)))


def test_data_named_by_the_configuration():
    # F3 F1 is PPO 1: four words of parameters, two of process data; ABB FPBA-01 manual p.185
    configuration = identifiers.decode(bytes.fromhex("F3 F1"))
    octets = bytes(range(12))
    lines = data_exchange.explain(octets, "input", configuration)
    covers(lines, octets)
    assert [line.meaning.split(", ")[1] for line in lines] == ["place 1"] * 4 + ["place 2"] * 2
    assert (lines[4].name, lines[4].meaning) == ("input word 5", "16#0809, place 2")
    # a byte here and a word there are counted apart; input and output too
    mixed = identifiers.decode(bytes.fromhex("90 E0 D0"))
    assert [line.name for line in data_exchange.explain(bytes(3), "input", mixed)] == ["input byte 1", "input word 1"]
    assert [line.name for line in data_exchange.explain(bytes(2), "output", mixed)] == ["output word 1"]
    # data of another length than the configuration has is told byte by byte
    assert len(data_exchange.explain(octets[:11], "input", configuration)) == 11


def test_data_in_one_line():
    assert data_exchange.summary(b"\x04", "output") == "1 output byte: 04"
    assert data_exchange.summary(bytes(13), "input") == "13 input bytes: " + "00 " * 12 + "…"


# -- any octets ---------------------------------------------------------------------------------------

GOOD = [bytes.fromhex(row["octets"]) for row in facts.rows("published/bus_services")]
GOOD += [
    bytes.fromhex(text) for text in ("F3 F1", "C3 C1 C1 FD 00 01", "02 00", "0C FF F1 00", "08 0C 00 01 FF F1 84 41 26")
]


READERS = [
    (lambda octets: set_prm.explain(octets), set_prm.summary),
    (lambda octets: set_prm.explain(octets, dpv1=True), lambda octets: set_prm.summary(octets, dpv1=True)),
    (chk_cfg.explain, chk_cfg.summary),
    (global_control.explain, global_control.summary),
    (set_slave_add.explain, set_slave_add.summary),
    (lambda octets: slave_diag.explain(octets), diagnosis.summary),
    (lambda octets: slave_diag.explain(octets, dpv1=True), diagnosis.summary),
]


def test_any_octets_are_explained_or_refused_in_words():
    # each input goes to one service, in turn
    for number, octets in enumerate(mangled.octets(GOOD, longest=80)):
        explain, summary = READERS[number % len(READERS)]
        try:
            covers(explain(octets), octets)
            assert summary(octets)
        except (OutOfRange, Unreadable) as refused:
            assert "allowed is" in str(refused)


def test_a_group_that_does_not_exist_is_refused_with_its_range_and_source():
    # groups 1 to 8: ABB FPBA-01 manual p.122
    for group in (0, 9):
        with pytest.raises(OutOfRange, match=r"^group is .*1 to 8 \(ABB FPBA-01 manual p\.122"):
            _ = GlobalControl(frozenset({"Sync"}), frozenset({group})).octets


def test_what_a_station_is_to_keep_has_its_own_line():
    assert [line.name for line in set_slave_add.explain(bytes.fromhex("0C FF F1 FF AA"))][3:] == ["Rem_Slave_Data"]
    assert len(set_slave_add.explain(bytes.fromhex("0C FF F1 FF"))) == 3
