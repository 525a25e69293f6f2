"""The cyclic parameter channel against printed octets, and as a code that loses nothing."""

from dataclasses import replace

import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.parameters import parameter_channel as pkw
from helpers.drive.parameters.parameter_channel import Channel
from helpers.drive.parameters.parameter_dialogue import doubt
from helpers.errors import OutOfRange, Unknown, Unreadable

OCTETS = st.binary(min_size=8, max_size=8)
CHANNEL = st.builds(
    Channel,
    st.integers(0, 15),
    st.integers(0, 2047),
    st.integers(0, 255),
    st.integers(0, 2**32 - 1),
    st.booleans(),
    st.integers(0, 255),
)
PAGED = st.builds(
    Channel,
    st.integers(0, 15),
    st.integers(0, 2047),
    st.integers(0, 255),
    st.integers(0, 2**32 - 1),
    st.booleans(),
    st.integers(0, 15),
    st.integers(0, 15),
)
PRINTED = facts.rows("published/drive_parameter_channel")


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row['name']}, {row['direction']}")
def test_printed_octets_both_ways(row):
    numbers = [row.whole(column) for column in ("identifier", "number", "subindex", "value")]
    both_ways(row["octets"], Channel(*numbers, other=row.whole("page")), decode=pkw.decode, encode=pkw.encode)


def test_requests_build_the_printed_octets():
    def as_printed(request):
        return pkw.encode(request).hex(" ").upper()

    # Toshiba manual E6581738 p.17, Lenze 931M/W manual p.46, ABB FPBA-01 manual p.142 and p.144
    assert as_printed(pkw.read(922)) == "13 9A 00 00 00 00 00 00"
    assert as_printed(pkw.read(964, subindex=0)) == "63 C4 00 00 00 00 00 00"
    assert as_printed(pkw.change(927, 1)) == "23 9F 00 00 00 00 00 01"
    assert as_printed(pkw.read(84, subindex=11)) == "60 54 0B 00 00 00 00 00"
    assert as_printed(pkw.change(12, 100, subindex=2)) == "70 0C 02 00 00 00 00 64"
    # 32 bits: no printed example; the pattern of Toshiba manual E6581738 p.15, high word first
    assert as_printed(pkw.change(930, 0x00012345, bits=32)) == "33 A2 00 00 00 01 23 45"
    assert as_printed(pkw.change(930, -1, bits=32, subindex=3)) == "83 A2 03 00 FF FF FF FF"
    assert as_printed(pkw.change(930, -2)) == "23 A2 00 00 00 00 FF FE"
    assert as_printed(pkw.number_of_elements(915)) == "93 93 00 00 00 00 00 00"
    assert as_printed(pkw.no_task()) == "00 00 00 00 00 00 00 00"


@given(OCTETS, st.sampled_from(pkw.INDEX_USES))
def test_any_eight_octets_are_read_and_given_back(octets, index):
    channel = pkw.decode(octets, index=index)
    assert pkw.encode(channel, index=index) == octets
    assert pkw.explain_request(channel, index=index) and pkw.explain_answer(channel, index=index)
    assert isinstance(doubt(channel, index=index), str)


@given(CHANNEL)
def test_fields_survive_the_octets(channel):
    assert pkw.decode(pkw.encode(channel)) == channel


@given(PAGED)
def test_a_page_survives_the_octets_in_either_octet_of_ind(channel):
    for index in ("subindex, page bits", "page bits, subindex"):
        assert pkw.decode(pkw.encode(channel, index=index), index=index) == channel
    counted = replace(channel, other=0)
    for index in ("subindex, page number", "page number, subindex"):
        assert pkw.decode(pkw.encode(counted, index=index), index=index) == counted


@given(CHANNEL)
def test_the_other_place_of_the_subindex_swaps_two_octets(channel):
    octets = pkw.encode(channel)
    swapped = pkw.encode(channel, index="free, subindex")
    assert swapped == octets[:2] + octets[3:1:-1] + octets[4:]


# --- a page in IND ------------------------------------------------------------------------------------------------


# From memory of a printed request of one maker, whose document is not at hand: the octet 16#90 (bits 7 and 4) and the
# number 1841 are parameter 7841. What bits 5 and 6 add is from memory altogether.
@pytest.mark.parametrize(
    ("number", "page", "parameter"),
    [
        (1841, 0x90, 7841),
        (922, 0x80, 2922),
        (922, 0x00, 922),
        (0, 0x80, 2000),
        (1999, 0x80, 3999),
        (5, 0x10, 4005),
        (5, 0x20, 8005),
        (5, 0x40, 16005),
        (1999, 0xF0, 31999),
    ],
)
@pytest.mark.parametrize("index", ["subindex, page bits", "page bits, subindex"])
def test_a_page_adds_to_the_parameter_number(number, page, parameter, index):
    for subindex in (0, 2):
        ind = [subindex, page] if index == "subindex, page bits" else [page, subindex]
        octets = bytes([0x60 | number >> 8, number & 0xFF, *ind, 0, 0, 0, 0])
        read = pkw.decode(octets, index=index)
        assert (read.parameter, read.subindex) == (parameter, subindex)
        assert pkw.encode(pkw.read(parameter, subindex=subindex), index=index) == octets
        assert f"parameter {parameter}" in pkw.explain_answer(read, index=index)[2].meaning


@pytest.mark.parametrize(
    ("parameter", "page", "number"), [(1999, 0, 1999), (2000, 1, 0), (4005, 2, 5), (7841, 3, 1841)]
)
def test_other_makers_count_the_pages(parameter, page, number):
    # Numbers below 2000 go directly; above, page n bears the number less n times 2000, in the first octet of IND:
    # Delta PD-01 manual p.17.
    octets = bytes([0x10 | number >> 8, number & 0xFF, page, 0, 0, 0, 0, 0])
    assert pkw.encode(pkw.read(parameter), index="page number, subindex") == octets
    assert pkw.decode(octets, index="page number, subindex").parameter == parameter


def test_a_printed_page_in_the_first_octet_both_ways():
    for row in PRINTED:
        if row["name"] == "refused write":  # Delta PD-01 manual p.19
            octets = bytes.fromhex(row["octets"])
            got = pkw.decode(octets, index="page number, subindex")
            assert (got.page, got.number, got.subindex) == (row.whole("subindex"), row.whole("number"), 0)
            assert pkw.encode(got, index="page number, subindex") == octets


def test_without_a_page_high_numbers_are_refused_and_a_strange_octet_is_told():
    for index in ("subindex, free", "free, subindex"):
        with pytest.raises(OutOfRange, match=r"2922 is above 1999.*manual"):
            pkw.encode(pkw.read(2922), index=index)
    octets = bytes.fromhex("139A 0080 0000 0065")
    told = pkw.explain_answer(pkw.decode(octets))
    assert "parameter 922" in told[2].meaning  # the page is never guessed …
    assert "16#80" in told[3].meaning and "page" in told[3].meaning  # … and the octet is never passed over


@pytest.mark.parametrize("octets", [b"", bytes(7), bytes(9)])
def test_other_lengths_are_refused(octets):
    with pytest.raises(Unreadable, match="8 octets"):
        pkw.decode(octets)


def test_tables_are_whole():
    assert [task.identifier for task in pkw.tasks()] == list(range(16))
    assert [answer.identifier for answer in pkw.answers()] == list(range(16))
    values = {answer.identifier: answer for answer in pkw.answers()}
    for task in pkw.tasks():
        for identifier in task.answers:
            # a change is answered with its own width, an array with an array
            if task.writes and task.answers != (3,):
                assert values[identifier].width == task.width
                assert values[identifier].array == task.array


# --- explanations and refusals ------------------------------------------------------------------------------------


def test_explanations():
    lines = pkw.explain_request(pkw.change(918, 7))
    assert "change a value (word)" in lines[0].meaning
    assert lines[2].meaning == "parameter 918 (station address)"
    assert lines[2].octets == "23 96"
    assert lines[4].meaning == "7 (16#0007)"
    assert "element 2" in pkw.explain_request(pkw.read(915, subindex=2))[3].meaning
    assert pkw.explain_request(pkw.read(45))[2].meaning == "parameter 45"
    assert pkw.explain_request(pkw.read(45))[4].meaning == "no value"
    assert pkw.explain_answer(Channel(2, 948, value=5))[4].meaning == "5 (16#00000005)"
    assert pkw.explain_answer(Channel(1, 948, value=0x10000))[4].meaning.endswith("(16#00010000)")
    assert pkw.explain_answer(Channel(9, 918, report=True))[1].meaning.startswith("1:")


def test_refused_numbers():
    pkw.encode(pkw.read(1999))
    pkw.encode(pkw.read(31999), index="subindex, page bits")
    for call in (
        lambda: pkw.encode(pkw.read(2000)),
        lambda: pkw.encode(pkw.read(32000), index="subindex, page bits"),
        lambda: pkw.read(512000),
        lambda: pkw.read(-1),
        lambda: pkw.encode(pkw.change(2000, 0)),
        lambda: pkw.change(512000, 0),
        lambda: pkw.encode(pkw.number_of_elements(2000)),
        lambda: pkw.encode(Channel(1, page=16), index="subindex, page bits"),
        lambda: pkw.encode(Channel(1, other=16), index="subindex, page bits"),
        lambda: pkw.change(918, 0x10000),
        lambda: pkw.change(918, -0x8001),
        lambda: pkw.change(918, 0, bits=8),
        lambda: pkw.encode(pkw.read(918, subindex=256)),
        lambda: pkw.encode(Channel(16)),
        lambda: pkw.encode(Channel(1, 2048)),
        lambda: pkw.encode(Channel(1, other=256)),
        lambda: pkw.encode(Channel(1, value=-1)),
    ):
        with pytest.raises(OutOfRange):
            call()
    with pytest.raises(Unknown, match="subindex, page"):
        pkw.decode(bytes(8), index="first")
    with pytest.raises(Unknown):
        pkw.encode(Channel(1), index="first")
