"""Control and status words against what manuals print."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive import words
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError

WORD = st.integers(0, 0xFFFF)
KIND = st.sampled_from(words.KINDS)


def set_bits(value, kind="control"):
    return [row.bit for row in words.decode(value, kind) if row.value]


def test_run_word_of_two_makers():
    # Vacon CX PROFIBUS manual p.13-14 and ABB FPBA-01 manual p.142: 16#047F
    assert words.encode(on=[0, 1, 2, 3, 4, 5, 6, 10]) == 0x047F
    assert words.usual(0x047F).name == "run"
    assert words.usual(0x047F).text == "16#047F"


def test_status_running_at_setpoint():
    # ABB FPBA-01 manual p.142/144, Vacon CX PROFIBUS manual p.14: bits 0, 1, 2, 4, 5, 8, 9
    assert set_bits("16#0337", "status") == [0, 1, 2, 4, 5, 8, 9]
    reading = words.state("16#0337")
    assert reading.name == "operation"
    assert not reading.fault and not reading.warning


@pytest.mark.parametrize(
    ("status", "state", "name"),
    [
        # Metronix DIS-2 manual p.42, Lenze 931M/W manual p.35
        (0x0040, "S1", "switching on inhibited"),
        (0x0001, "S2", "ready for switching on"),
        (0x0003, "S3", "switched on"),
        (0x0007, "S4", "operation"),
        # Rockwell 160PD1 manual p.5-4, low bytes
        (0x31, "S2", "ready for switching on"),
        (0x37, "S4", "operation"),
    ],
)
def test_state_by_mask(status, state, name):
    for other_bits in (0x0000, 0xFF30, 0x0230):
        reading = words.state(status | other_bits)
        assert reading.states[0] == state
        assert reading.name == name


def test_fault_beside_the_state():
    # Lenze 931M/W manual p.35: fault is bits 6, 3, 2, 1, 0 = 0, 1, 0, 0, 0
    assert words.state(0x0008).name == "fault"
    assert words.state(0x02B8).sentence.startswith("The state is fault: the pulses are off.")
    assert words.state(0x0048).name == "switching on inhibited"
    assert words.state(0x0048).fault
    assert "acknowledge" in words.state(0x0048).sentence
    assert "warning" in words.state(0x0080).sentence.lower()
    assert words.state(0x0005).states == ()
    assert words.state(0x0005).name == "none of the profile"


@pytest.mark.parametrize(
    ("status", "first"),
    [
        # bits 4, 5: ABB RETA-02 manual, table of the status word, 0 while OFF2, OFF3 act; bit 9: FENA-21 manual p.311
        (0x0250, "Status bit 5 is 0: OFF3 (quick stop) active."),
        (0x0260, "Status bit 4 is 0: OFF2 (coast stop) active."),
        (0x0070, "Status bit 9 is 0: local operation only"),
        (0x0217, "Status bit 5 is 0: OFF3 (quick stop) active."),
        # Rockwell 160PD1 manual p.5-4: without a stop it is bit 0 that must be 0
        (
            0x0270,
            "The state is switching on inhibited. No stop is active: bit 0 of the control word must go to 0 first.",
        ),
        (0x0231, "The state is ready for switching on."),
    ],
)
def test_the_bit_that_decides_is_named_first(status, first):
    assert words.state(status).sentence.startswith(first)


def test_zeros_that_hold_a_drive_are_marked_like_ones():
    assert [row.bit for row in words.decode("16#0250", "status") if row.holds] == [5, 6]
    assert [row.bit for row in words.decode("16#0337", "status") if row.holds] == []
    assert [row.bit for row in words.decode("16#047E") if row.holds] == [0]
    assert [row.bit for row in words.decode("16#047F") if row.holds] == []


def test_sources_differ_while_switching_off():
    # Lenze prints the bits of operation, the profile's figure (from memory) those of switched on
    assert words.state(0x0007).states == ("S4", "S5")
    assert words.state(0x0003).states == ("S3", "S5")
    assert "switching off" in words.state(0x0003).sentence


def test_bits_read_the_other_way_round():
    # ABB RETA-02 manual p.57: bits 4 and 5 are 1 when all is well, bit 6 is 1 when blocked
    status = words.bits("status")
    assert (status[4].one, status[4].zero) == ("OFF2 (coast stop) not active", "OFF2 (coast stop) active")
    assert (status[5].one, status[5].zero) == ("OFF3 (quick stop) not active", "OFF3 (quick stop) active")
    assert status[6].one.startswith("switching on inhibited")


def test_maker_specific_bits():
    assert [b.number for b in words.bits("control") if b.maker_specific] == [11, 12, 13, 14, 15]
    assert [b.number for b in words.bits("status") if b.maker_specific] == [11, 12, 13, 14, 15]
    assert [b.number for b in words.bits("control 2") if b.maker_specific] == list(range(12))


@pytest.mark.parametrize("kind", words.KINDS)
def test_every_kind_has_sixteen_bits_in_order_with_their_own_names(kind):
    bits = words.bits(kind)
    assert [b.number for b in bits] == list(range(16))
    assert len({b.name for b in bits}) == 16
    for bit in bits:
        assert bit.standing in facts.STANDINGS
        assert bit.source


def test_common_words_say_what_their_bits_say():
    off = {"run": [], "ready to start": [0], "switched on": [3], "coast stop": [1], "quick stop": [2]}
    for name, cleared in off.items():
        word = next(w for w in words.common() if w.name == name)
        assert words.encode(start=0x047F, off=cleared) == word.value
    acknowledge = next(w for w in words.common() if w.name == "acknowledge")
    assert words.compare(0x047E, acknowledge.value)[0].startswith("Bit 7 (acknowledge fault) rises")
    for known in words.common("status"):
        assert words.state(known.value).name in {known.name, "switching on inhibited", "operation"}


def test_usual_is_none_for_other_words():
    assert words.usual(0x1234) is None
    assert words.common("control 2") == ()


@pytest.mark.parametrize(
    "text", ["16#047F", "16#047f", "0x47F", "047Fh", "47FH", "2#0000_0100_0111_1111", "1151", 1151]
)
def test_spellings(text):
    assert words.word(text) == 0x047F


@pytest.mark.parametrize(
    ("text", "advice"),
    [("0337", "write 16#0337 or 337"), ("000", "write 16#000 or 0"), ("047F", "write 16#047F"), ("7f", "write 16#7F")],
)
def test_spellings_that_could_mean_two_numbers(text, advice):
    with pytest.raises(Unreadable, match=advice):
        words.word(text)


def test_edges_of_a_word():
    assert words.word(0) == 0
    assert words.word(0xFFFF) == 0xFFFF
    for beyond in (-1, 0x10000, "16#10000"):
        with pytest.raises(OutOfRange, match="0 to 65535"):
            words.word(beyond)
    with pytest.raises(Unreadable):
        words.word("run")


def test_refused_bits():
    with pytest.raises(Unknown, match="control by plc"):
        words.encode(on=["start"])
    with pytest.raises(OutOfRange, match="0 to 15"):
        words.encode(on=[16])
    with pytest.raises(OutOfRange):
        words.encode(off=["-1"])
    with pytest.raises(WorkbookError, match="bit 0 is to be 1 and 0"):
        words.encode(on=["on"], off=[0])
    with pytest.raises(Unknown, match="known are control, status"):
        words.decode(0, "telegram")
    with pytest.raises(Unknown):
        words.common("telegram")


@given(WORD, KIND)
def test_decode_and_encode_are_inverse(value, kind):
    rows = words.decode(value, kind)
    assert words.encode(kind, on=[row.bit for row in rows if row.value]) == value
    assert words.encode(kind, on=[row.name for row in rows if row.value]) == value
    assert words.encode(kind, start=0xFFFF, off=[row.name for row in rows if not row.value]) == value


@given(WORD)
def test_written_words_read_back(value):
    assert words.word(words.spelled(value)) == value
    assert words.word(words.pattern(value)) == value


@given(WORD, WORD, KIND)
def test_compare_names_each_changed_bit_once(before, after, kind):
    sentences = words.compare(before, after, kind)
    assert len(sentences) == (before ^ after).bit_count()
    rises = sum("rises" in s.split(":")[0] for s in sentences)
    assert rises == (after & ~before).bit_count()
    assert len(words.compare(after, before, kind)) == len(sentences)


@given(st.text(max_size=12))
def test_any_text_is_read_or_refused_in_words(text):
    try:
        assert 0 <= words.word(text) <= 0xFFFF
    except WorkbookError as refused:
        assert str(refused)


@given(WORD)
def test_every_status_word_gives_a_sentence(value):
    reading = words.state(value)
    assert reading.sentence
    assert reading.states == words.state(value & ~0x0088).states
