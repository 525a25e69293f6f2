"""Slave_Diag: published octets both ways, every bit, every block, and the advice that goes with it."""

import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.services import bits, diag_blocks, diagnosis, slave_diag
from helpers.bus.services.diag_blocks import ChannelBlock, DeviceBlock, IdentifierBlock, Message, RevisionBlock
from helpers.bus.services.slave_diag import SlaveDiag, decode, encode
from helpers.errors import OutOfRange, Unknown

(PUBLISHED,) = facts.where("published/bus_services", service="diagnosis blocks")
BLOCKS = (
    DeviceBlock(bytes.fromhex("A5 00 FF")),
    IdentifierBlock(frozenset({0, 12, 18}), 4),
    ChannelBlock(0, 2, error=4, type=1),
    ChannelBlock(12, 6, error=7, type=5),
)
IN_ORDER = bytes.fromhex("00 0C 00 01 FF F1")

small = st.integers(0, 63)
places = st.integers(0, 62).flatmap(lambda size: st.lists(st.booleans(), min_size=8 * size, max_size=8 * size))
blocks = st.one_of(
    st.builds(DeviceBlock, st.binary(max_size=62)),
    st.builds(lambda bits: IdentifierBlock(frozenset(n for n, on in enumerate(bits) if on), len(bits) // 8), places),
    st.builds(ChannelBlock, small, small, st.integers(0, 31), st.integers(0, 7), st.integers(0, 3)),
    st.builds(RevisionBlock, small),
)
diagnoses = st.builds(
    SlaveDiag,
    st.frozensets(st.sampled_from(bits.names("diagnosis_bits"))),
    st.integers(0, 255),
    st.integers(0, 0xFFFF),
    st.lists(blocks, max_size=3).map(tuple),
)


def test_published_blocks_both_ways():
    # PROFIBUS Specification p.729: identifiers 0, 12 and 18; overload, bit channel; upper limit exceeded, word channel
    whole = IN_ORDER + bytes.fromhex(PUBLISHED["octets"])
    both_ways(whole, SlaveDiag(frozenset({"fixed 1", "WD_On"}), 1, 0xFFF1, BLOCKS), decode=decode, encode=encode)
    assert [(block.error_name, diag_blocks.name("type", block.type)) for block in BLOCKS[2:]] == [
        ("overload", "1 bit"),
        ("upper limit exceeded", "word"),
    ]
    told = " / ".join(line.meaning for line in slave_diag.explain(whole))
    for said in (
        "identifier 12 (place 13) reports a fault",
        "channel 2, direction not said",
        "1 bit: overload",
        "word: upper limit",
    ):
        assert said in told


@given(diagnoses)
def test_octets_are_read_as_they_were_written(one):
    both_ways(encode(one), one, decode=decode, encode=encode)
    for dpv1 in (None, True, False):
        lines = slave_diag.explain(one.octets, dpv1=dpv1)
        assert b"".join(line.octets for line in lines) == one.octets
        assert [line.first for line in lines] == [1 + sum(len(x.octets) for x in lines[:n]) for n in range(len(lines))]
        assert all(line.meaning and line.name for line in lines)
    assert diagnosis.summary(one.octets)
    for piece in diagnosis.read(one).advice:
        assert piece.meaning and piece.look_first and piece.to_do and piece.source


def test_every_standard_bit_by_its_published_place():
    # Thermo Micro-Tech 9101 manual p.C-75, Norgren FD67 manual p.45, TR C58 manual p.109
    names = [
        [
            "Station_Non_Existent",
            "Station_Not_Ready",
            "Cfg_Fault",
            "Ext_Diag",
            "Not_Supported",
            "Invalid_Slave_Response",
            "Prm_Fault",
            "Master_Lock",
        ],
        ["Prm_Req", "Stat_Diag", "fixed 1", "WD_On", "Freeze_Mode", "Sync_Mode", "reserved 2.6", "Deactivated"],
    ]
    for number, expected in enumerate(names, 1):
        for bit, name in enumerate(expected):
            octets = bytearray(6)
            octets[number - 1] = 1 << bit
            assert decode(bytes(octets)).flags == {name}
            (row,) = [row for row in slave_diag.bit_rows(bytes(octets)) if row.value]
            assert (row.octet, row.bit, row.name) == (number, bit, name)
    assert decode(bytes((0, 0, 0x80, 0, 0, 0))).flags == {"Ext_Diag_Overflow"}
    assert len(slave_diag.bit_rows(IN_ORDER)) == 24


def test_length_at_both_sides_of_the_limit():
    # six standard octets; up to 244, Lumberg 0970 manual p.13
    assert len(decode(bytes(6) + b"\xc1" * 238).blocks) == 238
    for size in (0, 5, 245):
        with pytest.raises(OutOfRange, match=f"is {size}; allowed is 6 to 244"):
            decode(bytes(size))
    with pytest.raises(OutOfRange, match="is 246"):
        encode(SlaveDiag(blocks=(RevisionBlock(1),) * 240))


@pytest.mark.parametrize(
    ("rest", "blocks", "says"),
    [
        # PROFIBUS Specification p.729: cut only at the end of a block; a length that is not 0 marks a whole one
        ("45 01", 0, "announces 5 octets, 2 are there"),
        ("80 02", 0, "announces 3 octets, 2 are there"),
        ("80 02 24 04 A5", 1, "announces 4 octets, 2 are there"),
        ("00 11 22", 0, "length 0"),
        ("40", 0, "length 0"),
    ],
)
def test_blocks_that_are_cut_off(rest, blocks, says):
    found = decode(IN_ORDER + bytes.fromhex(rest))
    assert len(found.blocks) == blocks
    assert found.octets == IN_ORDER + bytes.fromhex(rest)
    assert says in slave_diag.explain(found.octets)[-1].meaning


@pytest.mark.parametrize(
    ("wrong", "error", "says"),
    [
        (SlaveDiag(frozenset({"Ready"})), Unknown, "known are Station_Non_Existent"),
        (SlaveDiag(master=256), OutOfRange, "master address is 256"),
        (SlaveDiag(ident=-1), OutOfRange, "ident number is -1"),
        (SlaveDiag(blocks=(DeviceBlock(bytes(63)),)), OutOfRange, "length of a block is 64 octets; allowed is 1 to 63"),
        (SlaveDiag(blocks=(IdentifierBlock(frozenset({8}), 1),)), OutOfRange, "place is 8; allowed is 0 to 7"),
        (SlaveDiag(blocks=(IdentifierBlock(frozenset(), 63),)), OutOfRange, "number of octets of bits is 63"),
        (SlaveDiag(blocks=(ChannelBlock(64, 0, 1),)), OutOfRange, "place is 64"),
        (SlaveDiag(blocks=(ChannelBlock(0, 64, 1),)), OutOfRange, "channel is 64"),
        (SlaveDiag(blocks=(ChannelBlock(0, 0, 32),)), OutOfRange, "error is 32"),
        (SlaveDiag(blocks=(ChannelBlock(0, 0, 1, 8),)), OutOfRange, "type is 8"),
        (SlaveDiag(blocks=(ChannelBlock(0, 0, 1, 1, 4),)), OutOfRange, "direction is 4"),
        (SlaveDiag(blocks=(RevisionBlock(64),)), OutOfRange, "revision is 64"),
    ],
)
def test_what_can_not_be_written(wrong, error, says):
    with pytest.raises(error, match=says):
        encode(wrong)


@pytest.mark.parametrize(
    ("code", "name"),
    # Omron PRM21 manual p.172, ABB S900 manual p.41
    [
        *enumerate(["short circuit", "undervoltage", "overvoltage", "overload", "overtemperature", "line break"], 1),
        (7, "upper limit exceeded"),
        (8, "lower limit exceeded"),
        (9, "error"),
        (10, "reserved"),
        (15, "reserved"),
        (16, "maker"),
        (31, "maker"),
    ],
)
def test_channel_errors(code, name):
    block = ChannelBlock(3, 5, code, 5, 2)
    assert block.error_name == name
    lines = diag_blocks.explain(block, 7)
    assert name in lines[2].meaning
    assert (f"code {code}" in lines[2].meaning) == (name in ("maker", "reserved"))
    (piece,) = diagnosis.advice(SlaveDiag(frozenset({"fixed 1", "WD_On"}), 1, blocks=(block,)))
    assert name in piece.meaning
    assert piece.about == "identifier 3, channel 5, word"
    assert lines[1].meaning == "channel 5, output"


def test_alarms_and_status_messages():
    # from memory
    alarm = Message("alarm", 1, 2, sequence=3, acknowledge=True, specifier=1, data=b"\x01")
    status = Message("status", 2, 0, data=bytes((0b11_10_01_00,)))
    for one in (alarm, status):
        assert diag_blocks.message(one.block) == one
    told = [line.meaning for line in diag_blocks.explain(alarm.block, 7, dpv1=True)]
    assert told[1:4] == [
        "diagnosis alarm",
        "slot 2",
        "number 3, fault came, the module is disturbed; a further acknowledgement is asked for",
    ]
    assert (
        diag_blocks.explain(status.block, 7, dpv1=True)[4].meaning
    ) == "module 1 data valid, module 2 data not valid, module 3 wrong module, module 4 no module"
    assert diag_blocks.explain(alarm.block, 7)[1].meaning == "if the station works by DPV1: diagnosis alarm"
    assert [line.name for line in diag_blocks.explain(alarm.block, 7, dpv1=False)] == [
        "station's own block",
        "own data",
    ]
    assert diag_blocks.message(DeviceBlock(b"\x01\x02")) is None
    assert [line.name for line in diag_blocks.explain(DeviceBlock(b"\x01"), 7, dpv1=True)][1] == "own data"
    assert len(diag_blocks.explain(DeviceBlock(b""), 7, dpv1=True)) == 1
    assert diag_blocks.name("alarm", 31) == "reserved" and diag_blocks.name("status", 40) == "maker's status"


@given(
    st.builds(
        Message,
        st.sampled_from(["alarm", "status"]),
        st.integers(0, 127),
        st.integers(0, 255),
        st.integers(0, 31),
        st.booleans(),
        st.integers(0, 3),
        st.binary(max_size=59),
    )
)
def test_messages_are_read_as_they_were_written(one):
    assert diag_blocks.message(one.block) == one
    assert decode(SlaveDiag(blocks=(one.block,)).octets).blocks == (one.block,)


@pytest.mark.parametrize(
    ("wrong", "error"),
    [
        (Message("event", 1, 1), Unknown),
        (Message("alarm", 128, 1), OutOfRange),
        (Message("alarm", 1, 256), OutOfRange),
        (Message("alarm", 1, 1, sequence=32), OutOfRange),
        (Message("alarm", 1, 1, specifier=4), OutOfRange),
    ],
)
def test_messages_that_can_not_be_written(wrong, error):
    with pytest.raises(error):
        _ = wrong.block


def test_names_of_codes():
    assert diag_blocks.name("direction", 3) == "input and output"
    with pytest.raises(Unknown, match="no field"):
        diag_blocks.name("colour", 1)


# -- what it means ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("octets", "state", "first"),
    [
        ("00 0C 00 01 FF F1", "in order", None),
        ("01 00 00 FF 00 00", "not there", "Station_Non_Existent"),
        ("02 05 00 FF FF F1", "waits for parameters", "Prm_Req"),
        ("42 05 00 FF FF F1", "parameters refused", "Prm_Fault"),
        ("06 0C 00 01 FF F1", "configuration refused", "Cfg_Fault"),
        ("80 0C 00 03 FF F1", "held by another controller", "Master_Lock"),
        ("20 0C 00 01 FF F1", "answers not understood", "Invalid_Slave_Response"),
        ("10 0C 00 01 FF F1", "service refused", "Not_Supported"),
        ("00 8C 00 01 FF F1", "switched off in the controller", "Deactivated"),
        ("02 0C 00 01 FF F1", "not ready yet", "Station_Not_Ready"),
        ("00 0E 00 01 FF F1", "data not valid", "Stat_Diag"),
        ("08 0C 00 01 FF F1", "in data exchange, with a fault of its own", "Ext_Diag"),
        ("08 0C 80 01 FF F1", "in data exchange, with a fault of its own", "Ext_Diag"),
        ("00 04 00 01 FF F1", "in order", "WD_On"),
        ("00 08 00 01 FF F1", "in order", "fixed 1"),  # always 1 in an answer: TR C58 manual p.109
        ("00 0C 00 FF FF F1", "in order", "octet 4"),
    ],
)
def test_state_and_what_to_look_at_first(octets, state, first):
    found = diagnosis.read(decode(bytes.fromhex(octets)))
    assert found.state == state
    assert found.sentence.endswith(".")
    assert (found.advice[0].about if found.advice else None) == first
    assert state in diagnosis.summary(bytes.fromhex(octets))


def test_advice_comes_once_and_the_most_urgent_first():
    def about(octets):
        return [piece.about for piece in diagnosis.advice(decode(bytes.fromhex(octets)))]

    assert about("02 05 00 FF FF F1") == ["Prm_Req"]  # that it is not ready goes without saying
    assert about("42 05 00 FF FF F1") == ["Prm_Fault"]
    assert about("0A 0C 80 01 FF F1 80 02 26") == [
        "Station_Not_Ready",
        "Ext_Diag_Overflow",
        "identifier 0, channel 2, 1 bit",
    ]


def test_a_hand_that_would_reach_into_a_drive_is_warned():
    for octets in ("01 00 00 FF 00 00", "08 0C 00 01 FF F1 80 02 26"):
        told = str([piece.caution for piece in diagnosis.advice(decode(bytes.fromhex(octets)))])
        assert "isolation, every step" in told
    assert "start its motor" in str(diagnosis.advice(decode(bytes.fromhex("06 0C 00 01 FF F1")))[0].caution)


def test_summary_names_what_is_reported():
    assert "own data, identifier 0, 12, 18, overload, upper limit exceeded" in diagnosis.summary(
        IN_ORDER + bytes.fromhex(PUBLISHED["octets"])
    )
    assert diagnosis.summary(IN_ORDER + b"\x80\x01\x35") == "in order: error 21; master 1; ident 16#FFF1"
    assert diagnosis.summary(IN_ORDER + b"\x41\x01\xc1") == diagnosis.summary(IN_ORDER)


def test_every_state_and_every_error_has_its_advice():
    known = {row["about"] for row in facts.rows("diagnosis_advice")}
    assert {row["ones"] for row in facts.rows("diagnosis_states")} - {""} <= known
    assert {row["name"] for row in facts.where("channel_errors", field="error")} <= known
    assert facts.rows("diagnosis_states")[-1]["ones"] == ""
    for field, most in (("error", 31), ("type", 7), ("direction", 3)):
        rows = facts.where("channel_errors", field=field)
        values = sorted(v for row in rows for v in range(row.whole("first"), row.whole("last") + 1))
        assert values == list(range(most + 1))


def test_what_a_block_holds_stands_in_the_advice_and_no_block_is_asked_for_where_there_is_none():
    def advised(octets, **more):
        return diagnosis.advice(decode(bytes.fromhex(octets)), **more)

    (alone,) = advised("08 0C 00 01 FF F1")
    assert "No block behind octet 6" in alone.look_first and "blocks say" not in alone.look_first
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.729: identifiers 0, 12 and 18; channel 2 of identifier 0
    places, channel = advised("08 0C 00 01 FF F1 44 01 10 04 80 02 24")
    assert places.about == "block, octets 7 to 10"
    assert "identifier 0 (place 1), identifier 12 (place 13), identifier 18 (place 19)" in places.meaning
    assert channel.meaning == "overload"
    (own,) = advised("08 0C 00 01 FF F1 03 12 34")
    assert own.about == "block, octets 7 to 9" and own.meaning.startswith("12 34") and "description" in own.look_first
    (told,) = advised("08 0C 00 01 FF F1 03 12 34", texts=lambda block: ("fan worn",))
    assert told.meaning == "fan worn"


@pytest.mark.parametrize(
    ("octets", "missing"), [("06 0C 00", "4 to 6"), ("06 0C 00 01", "5 and 6"), ("06 0C 00 01 FF", "6")]
)
def test_the_first_three_octets_alone_are_read_and_what_is_missing_is_said(octets, missing):
    part, whole = bytes.fromhex(octets), bytes.fromhex("06 0C 00 01 FF F1")
    found = decode(part, part=True)
    assert found.flags == decode(whole).flags and found.octets == part
    assert diagnosis.read(found).state == diagnosis.read(decode(whole)).state == "configuration refused"
    assert [one.about for one in diagnosis.read(found).advice] == ["Cfg_Fault"]
    said = slave_diag.missing(found)
    assert f"{missing} w" in said and "ident number" in said and ("master" in said) == (missing == "4 to 6")
    assert slave_diag.missing(decode(whole)) == ""
    told = slave_diag.explain(part, part=True)
    assert b"".join(line.octets for line in told) == part
    # Nothing is said of a master that nobody gave.
    assert not any(one.about == "octet 4" for one in diagnosis.advice(decode(bytes.fromhex("00 04 00"), part=True)))
    for octets_too_few in (b"", b"\x06", b"\x06\x0c"):
        with pytest.raises(OutOfRange, match="allowed is 3 to 244"):
            decode(octets_too_few, part=True)
    with pytest.raises(OutOfRange, match="allowed is 6 to 244"):
        decode(part)


def test_a_station_that_is_not_there_needs_no_advice_that_it_is_not_ready():
    # bit 0 of the first octet: not there; bit 1: not ready (every bit by its published place, above)
    found = [piece.about for piece in diagnosis.advice(decode(bytes.fromhex("03 00 00 FF 00 00")))]
    assert found == ["Station_Non_Existent"]


def test_each_identifier_that_reports_is_named_at_its_own_octet():
    # 42: an identifier block of two octets; 16#05 and 16#00: identifiers 0 and 2, then none of the next eight
    lines = diag_blocks.explain(IdentifierBlock(frozenset({0, 2}), 2), 7, dpv1=None)
    told = {line.name: line.meaning for line in lines}
    assert told["identifiers 0 to 7"].count("reports a fault") == 2
    assert told["identifiers 8 to 15"] == "no fault"
