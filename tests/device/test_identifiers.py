"""Configuration identifiers against published octets, and both ways for anything that can be written."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.device import identifiers
from helpers.device.identifiers import Configuration, DataArea, Identifier
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError
from tests.golden import both_ways

PUBLISHED = facts.rows("published/identifiers")


def areas(longest):
    return st.builds(DataArea, st.integers(1, longest), st.sampled_from(["byte", "word"]), st.booleans())


COMPACT = st.builds(
    lambda area, out, into: Identifier("compact", area if out or not into else None, area if into else None),
    areas(16),
    st.booleans(),
    st.booleans(),
)
SPECIAL = st.builds(
    lambda out, into, vendor, withheld: Identifier("special", out, into, vendor, withheld and not vendor),
    st.none() | areas(64),
    st.none() | areas(64),
    st.binary(max_size=14),
    st.booleans(),
)


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["octets"])
def test_published_octets(row):
    # The source of each row stands in data/published/identifiers.csv.
    found = identifiers.decode(bytes.fromhex(row["octets"]))
    assert (found.places, found.bytes_out, found.bytes_in) == tuple(
        row.whole(column) for column in ("places", "bytes_out", "bytes_in")
    )
    assert found.octets.hex(" ").upper() == row["octets"]


@pytest.mark.parametrize(
    ("octets", "identifier"),
    [
        # M. Felser, PROFIBUS Manual, compact format
        ("11", Identifier("compact", input=DataArea(2, "byte", whole=False))),
        ("22", Identifier("compact", output=DataArea(3, "byte", whole=False))),
        ("F3", Identifier("compact", output=DataArea(4), input=DataArea(4))),
        ("71", Identifier("compact", output=DataArea(2, whole=False), input=DataArea(2, whole=False))),
        # ABB FPBA-01 manual p.81: standard telegrams 1 and 2
        ("C3 C1 C1 FD 00 01", Identifier("special", DataArea(2), DataArea(2), b"\xfd\x00\x01")),
        ("C3 C3 C3 FD 00 02", Identifier("special", DataArea(4), DataArea(4), b"\xfd\x00\x02")),
        # WAGO 750-833 manual p.79 and 750-333 manual p.80, the rows of the header; length octets of our own
        ("00", Identifier("special")),
        ("02 AA BB", Identifier("special", vendor=b"\xaa\xbb")),
        ("0F", Identifier("special", withheld=True)),
        ("40 00", Identifier("special", input=DataArea(1, "byte", whole=False))),
        ("80 FF", Identifier("special", output=DataArea(64))),
        ("4E 41" + " 00" * 14, Identifier("special", input=DataArea(2, whole=False), vendor=bytes(14))),
        ("CF 80 C2", Identifier("special", DataArea(1, "byte"), DataArea(3), withheld=True)),
    ],
)
def test_octets_and_meaning_both_ways(octets, identifier):
    both_ways(octets, Configuration((identifier,)), decode=identifiers.decode, encode=lambda value: value.octets)


def test_output_comes_before_input_in_the_special_format():
    # WAGO 750-833 manual p.79: "output and input length octets follow"
    found = identifiers.decode(bytes.fromhex("C0 C1 C4"))
    assert (found.bytes_out, found.bytes_in) == (4, 10)


@pytest.mark.parametrize(
    ("octets", "text"),
    [
        ("F1", "output and input 2 words, whole"),
        ("50", "input 1 word, each word for itself"),
        ("C0 C1 C2", "output 2 words, whole; input 3 words, whole"),
        ("00", "empty place"),
        ("01 7B", "empty place; vendor octets 7B"),
    ],
)
def test_text_for_a_person(octets, text):
    assert identifiers.decode(bytes.fromhex(octets)).identifiers[0].text == text


@given(st.lists(COMPACT | SPECIAL, min_size=1, max_size=14))
def test_what_is_encoded_decodes_to_the_same(several):
    assert identifiers.decode(identifiers.encode(several)).identifiers == tuple(several)


@given(st.binary(max_size=260))
def test_any_octets_give_an_answer_or_our_own_error(octets):
    try:
        found = identifiers.decode(octets)
    except WorkbookError:
        return
    assert found.octets == octets
    assert found.bytes_out == sum(one.bytes_out for one in found.identifiers)
    assert all(one.text and one.octets for one in found.identifiers)


def test_every_single_octet():
    # Second method: the compact byte written out by hand, M. Felser, PROFIBUS Manual, compact format.
    for octet in range(256):
        direction, length = octet >> 4 & 3, ((octet & 15) + 1) * (2 if octet & 64 else 1)
        if direction == 0:
            continue
        found = identifiers.decode(bytes([octet])).identifiers[0]
        assert (found.bytes_in, found.bytes_out) == (length * (direction & 1), length * (direction >> 1))
        assert (found.output or found.input).whole == bool(octet & 128)


@given(areas(64) | st.none(), areas(64) | st.none(), st.binary(max_size=14))
def test_shortest_carries_what_was_asked_and_no_compact_byte_would_have_done(output, into, vendor):
    one = identifiers.shortest(output, into, vendor)
    assert (one.output, one.input, one.vendor) == (output, into, vendor)
    assert identifiers.decode(one.octets).identifiers == (one,)
    if one.form == "special":
        with pytest.raises((Unreadable, OutOfRange)):
            identifiers.encode([Identifier("compact", output, into, vendor)])


def test_lengths_at_both_sides_of_the_limit():
    # compact 1 to 16: M. Felser, PROFIBUS Manual, compact format; special 1 to 64: from memory
    assert identifiers.shortest(DataArea(16)).octets == b"\xef"
    assert identifiers.shortest(DataArea(17)).octets == b"\x80\xd0"
    assert identifiers.shortest(DataArea(64)).octets == b"\x80\xff"
    for count in (0, 65, -1, float("nan"), 1.5):
        with pytest.raises(OutOfRange, match="length"):
            identifiers.shortest(DataArea(count))
    with pytest.raises(OutOfRange, match="allowed is 1 to 16"):
        identifiers.encode([Identifier("compact", DataArea(17))])


def test_vendor_octets_at_both_sides_of_the_limit():
    # WAGO 750-833 manual p.79: 1 to 14
    assert len(identifiers.shortest(vendor=bytes(14)).octets) == 15
    with pytest.raises(OutOfRange, match="15; allowed is 0 to 14"):
        identifiers.shortest(vendor=bytes(15))
    with pytest.raises(OutOfRange, match="allowed is 0 to 0"):
        identifiers.encode([Identifier("special", vendor=b"x", withheld=True)])


@pytest.mark.parametrize(
    "wrong",
    [
        Identifier("compact"),
        Identifier("compact", DataArea(1), DataArea(2)),
        Identifier("compact", DataArea(1), vendor=b"x"),
        Identifier("compact", DataArea(1), withheld=True),
    ],
)
def test_what_a_compact_byte_cannot_hold(wrong):
    with pytest.raises(Unreadable, match="compact byte can't hold"):
        identifiers.encode([wrong])


def test_names_that_do_not_exist():
    with pytest.raises(Unknown, match="compact, special"):
        identifiers.encode([Identifier("long", DataArea(1))])
    with pytest.raises(Unknown, match="byte, word"):
        identifiers.encode([Identifier("compact", DataArea(1, "bit"))])


@pytest.mark.parametrize("cut", [1, 2, 3, 4, 5])
def test_cut_off_identifier_is_named_with_its_place(cut):
    whole = bytes.fromhex("F1 C3 C1 C1 FD 00 01")
    with pytest.raises(Unreadable, match=r"place 2: .*16#C3"):
        identifiers.decode(whole[: 1 + cut])
    assert identifiers.decode(whole).places == 2


def test_configuration_of_one_telegram():
    # 1 to 244 octets, from memory
    assert identifiers.decode(bytes(244)).places == 244
    for octets in (b"", bytes(245)):
        with pytest.raises(OutOfRange, match="allowed is 1 to 244"):
            identifiers.decode(octets)
    with pytest.raises(OutOfRange, match="is 245"):
        identifiers.encode([Identifier("special")] * 245)


def test_data_too_long_for_the_bus_is_told():
    # 244 octets each way: Lenze EPM manual p.267; 246 without service access points: M. Felser, PROFIBUS Manual
    def complaints(bytes_in):
        sixteens, rest = divmod(bytes_in, 16)
        places = [DataArea(16, "byte")] * sixteens + [DataArea(rest, "byte")]
        return Configuration(tuple(Identifier("compact", input=area) for area in places)).complaints

    assert complaints(246) == ()
    assert len(complaints(247)) == 1
    assert complaints(247)[0].startswith("input is 247 bytes; allowed is 0 to 246")


@pytest.mark.parametrize("text", ["F3 F1", "0xF3,0xF1", "16#F3 16#f1", "F3h; F1h", "f3f1", " F3\nF1 "])
def test_octets_in_any_usual_spelling(text):
    assert identifiers.octets_from_text(text) == b"\xf3\xf1"


@pytest.mark.parametrize("text", ["", "F", "F3 G1", "243", "F3 0x", "²³"])
def test_text_that_is_no_octets(text):
    with pytest.raises(Unreadable, match="two hexadecimal digits"):
        identifiers.octets_from_text(text)


def test_the_bits_cover_every_value_of_every_field():
    # otherwise some octet would have no meaning
    fields = {(row["form"], row["field"]) for row in facts.rows("identifier_bits")} - {("special", "marker")}
    for form, field in fields:
        rows = facts.where("identifier_bits", form=form, field=field)
        values = [v for row in rows for v in range(row.whole("first"), row.whole("last") + 1)]
        assert values == list(range(2 ** (rows[0].whole("high_bit") - rows[0].whole("low_bit") + 1)))


@pytest.mark.parametrize(
    ("octets", "roles", "meanings"),
    [
        # M. Felser, PROFIBUS Manual, compact format: 11 is 2 bytes in, 22 is 3 bytes out, F3 is 4 words both ways
        ("11", ["compact byte"], ["length counts bytes", "input", "1 + 1 = 2 bytes"]),
        ("22", ["compact byte"], ["length counts bytes", "output", "2 + 1 = 3 bytes"]),
        ("F3", ["compact byte"], ["whole area belongs together", "length counts words", "3 + 1 = 4 words"]),
        ("50", ["compact byte"], ["whole in itself", "0 + 1 = 1 word"]),
        # ABB FPBA-01 manual p.81, standard telegram 1; roles by WAGO 750-833 manual p.79
        (
            "C3 C1 C1 FD 00 01",
            ["header", "length of output", "length of input", *["vendor octet"] * 3],
            ["first output then input", "3 vendor octets follow", "1 + 1 = 2 words"],
        ),
        ("01 7B", ["header", "vendor octet"], ["empty place", "1 vendor octet follows"]),
        ("4F C0", ["header", "length of input"], ["no vendor octets follow", "0 + 1 = 1 word"]),
    ],
)
def test_each_octet_is_explained(octets, roles, meanings):
    explained = identifiers.explain(bytes.fromhex(octets))
    assert [one.role for one in explained] == roles
    told = " / ".join(field.meaning for one in explained for field in one.fields)
    assert all(meaning in told for meaning in meanings), told


@given(st.lists(COMPACT | SPECIAL, min_size=1, max_size=6))
def test_the_fields_of_an_octet_are_all_its_bits(several):
    octets = identifiers.encode(several)
    explained = identifiers.explain(octets)
    assert bytes(one.value for one in explained) == octets
    assert [one.place for one in explained] == [n for n, one in enumerate(several, 1) for _ in one.octets]
    for one in explained:
        assert one.value == sum(field.value << field.low_bit for field in one.fields) or one.role == "vendor octet"
        bits = [bit for field in one.fields for bit in range(field.high_bit, field.low_bit - 1, -1)]
        assert bits == ([] if one.role == "vendor octet" else [7, 6, 5, 4, 3, 2, 1, 0])
        assert all(field.source and field.meaning for field in one.fields)
