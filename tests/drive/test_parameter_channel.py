"""The cyclic parameter channel against printed octets, and as a code that loses nothing."""

import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive import parameter_channel as pkw
from helpers.drive.parameter_channel import Channel
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
PRINTED = facts.rows("published/drive_parameter_channel")


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row['name']}, {row['direction']}")
def test_printed_octets_both_ways(row):
    numbers = [row.whole(column) for column in ("identifier", "number", "subindex", "value")]
    both_ways(row["octets"], Channel(*numbers, other=row.whole("page")), decode=pkw.decode, encode=pkw.encode)


@pytest.mark.parametrize("name", dict.fromkeys(row["name"] for row in PRINTED if row["direction"] == "answer"))
def test_printed_answers_belong_to_their_requests(name):
    request, answer = (pkw.decode(bytes.fromhex(row["octets"])) for row in PRINTED if row["name"] == name)
    found = pkw.match(request, answer)
    assert found.belongs
    assert found.kind == ("refusal" if name == "refused write" else "answer")


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


def test_the_refused_write_says_what_to_do():
    # Delta PD-01 manual p.19: answer 7 with error 0, illegal parameter number, in PWE2
    request, answer = (pkw.decode(bytes.fromhex(o)) for o in ("202D800000000002", "702D800000000000"))
    assert pkw.match(request, answer).sentence.startswith("Error 0: there is no parameter of this number")
    assert pkw.explain_answer(answer)[-1].meaning.startswith("Error 0")


@given(OCTETS, st.sampled_from(pkw.SUBINDEX_BYTES))
def test_any_eight_octets_are_read_and_given_back(octets, place):
    channel = pkw.decode(octets, subindex_byte=place)
    assert pkw.encode(channel, subindex_byte=place) == octets
    assert pkw.explain_request(channel) and pkw.explain_answer(channel)


@given(CHANNEL)
def test_fields_survive_the_octets(channel):
    assert pkw.decode(pkw.encode(channel)) == channel


@given(CHANNEL)
def test_the_other_place_of_the_subindex_swaps_two_octets(channel):
    octets = pkw.encode(channel)
    swapped = pkw.encode(channel, subindex_byte="low")
    assert swapped == octets[:2] + octets[3:1:-1] + octets[4:]


@given(CHANNEL, CHANNEL)
def test_every_pair_is_judged_in_words(request, answer):
    found = pkw.match(request, answer)
    assert found.sentence.endswith(".")
    if found.belongs and request.identifier and answer.identifier:
        assert answer.number == request.number


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


# --- which answer belongs to which request ------------------------------------------------------------------------

VALUE_101 = Channel(1, 922, value=101)


@pytest.mark.parametrize(
    ("request_", "answer", "kind"),
    [
        (pkw.read(922), VALUE_101, "answer"),
        (pkw.read(922), Channel(2, 922, value=101), "answer"),
        (pkw.read(930), VALUE_101, "other"),  # the number of the task before
        (pkw.read(922), Channel(4, 922, value=101), "other"),  # an array's answer to no array's task
        (pkw.read(922), Channel(0), "none"),
        (pkw.no_task(), Channel(0), "answer"),
        (pkw.no_task(), VALUE_101, "other"),
        (pkw.read(915, subindex=2), Channel(4, 915, 1, 5), "other"),  # the element of the task before
        (pkw.read(915, subindex=2), Channel(4, 915, 2, 5), "answer"),
        (pkw.change(918, 7), Channel(1, 918, value=3), "other"),  # the value of the task before
        (pkw.change(918, 7), Channel(1, 918, value=7), "answer"),
        (pkw.change(918, 7), Channel(2, 918, value=7), "other"),
        (pkw.change(918, 7), Channel(7, 918, value=17), "refusal"),
        (pkw.change(918, 7), Channel(8, 918), "refusal"),
        (pkw.change(918, 7), Channel(7, 922, value=17), "other"),
        (pkw.read(922), Channel(9, 922, value=3), "report"),
        (pkw.read(922), Channel(13, 922), "other"),
    ],
)
def test_match(request_, answer, kind):
    assert pkw.match(request_, answer).kind == kind


def test_the_old_answer_trap():
    pause, nothing = pkw.no_task(), Channel(0)
    found = pkw.follow(
        [
            (pkw.read(922), nothing),
            (pkw.read(922), VALUE_101),
            (pkw.read(922), VALUE_101),  # held: repeated
            (pause, VALUE_101),  # the drive still repeats
            (pkw.read(922), VALUE_101),  # asked again too early: cannot be told from the old answer
            (pause, nothing),
            (pkw.read(922), VALUE_101),  # now it is new
        ]
    )
    assert [m.kind for m in found] == ["none", "answer", "answer", "other", "answer", "answer", "answer"]
    assert ["old answer repeated" in m.sentence for m in found] == [False, False, True, False, True, False, False]


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
    pkw.read(1999)
    for call in (
        lambda: pkw.read(2000),
        lambda: pkw.read(-1),
        lambda: pkw.change(2000, 0),
        lambda: pkw.number_of_elements(2000),
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
    with pytest.raises(Unknown, match="high, low"):
        pkw.decode(bytes(8), subindex_byte="first")
    with pytest.raises(Unknown):
        pkw.encode(Channel(1), subindex_byte="first")
