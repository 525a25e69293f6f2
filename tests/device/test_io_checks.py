"""The findings on an I/O image: both sides of each threshold, and overlaps counted byte by byte."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.device.formats import DataFormat, FormatWord, by_name
from helpers.device.identifiers import DataArea, Identifier, encode
from helpers.device.io_checks import check, overlaps
from helpers.device.io_image import ImageStation, lay_out
from helpers.device.signals import find
from helpers.errors import OutOfRange, Unknown
from helpers.verdict import Degree

THREE = by_name("PPO 3")


def bad(found):
    return [(one.rule, one.place) for one in found if one.degree is not Degree.IN_ORDER]


def of_words(count, *, whole=True, signal=""):
    """A format of our own: the same words both ways, under one identifier."""
    area = DataArea(count, "word", whole)
    word = FormatWord(signal, "fixed", signal) if signal else FormatWord("PZD", "free")
    return DataFormat("own", "device", (word,) * count, (word,) * count, encode([Identifier("special", area, area)]),
                      "", "", "", "memory")  # fmt: skip


@pytest.mark.parametrize(("second", "broken"), [(4, []), (3, [("overlap", "a and b, inputs")])])
def test_one_byte_decides_on_an_overlap(second, broken):
    image = lay_out([ImageStation("a", THREE), ImageStation("b", THREE, first_in=second)])
    assert [one for one in bad(check(image)) if one[0] == "overlap"] == broken


@pytest.mark.parametrize(("size", "broken"), [(8, 0), (7, 2), (3, 4)])
def test_the_last_byte_must_lie_within_the_image(size, broken):
    found = check(lay_out([ImageStation("a", THREE), ImageStation("b", THREE)]), image_bytes=size)
    assert sum(one.rule == "image size" and one.degree is Degree.CANNOT_WORK for one in found) == broken
    if not broken:
        assert "8 of 8 bytes" in next(one.found for one in found if one.rule == "image size")


@pytest.mark.parametrize(("start", "degree"), [(6, Degree.IN_ORDER), (7, Degree.CAUTION), (8, Degree.IN_ORDER)])
def test_a_word_at_an_odd_byte_is_a_matter_of_care(start, degree):
    image = lay_out([ImageStation("a", THREE)], first_in=start, first_out=0)
    assert max(one.degree for one in check(image)) == degree


def test_word_numbers_have_none_for_an_odd_byte_nor_for_a_split_double_word():
    telegram = by_name("standard telegram 2")  # a double word behind one word
    odd = check(lay_out([ImageStation("a", THREE)], first_in=7), numbering="word numbers")
    assert next(one for one in odd if one.degree is Degree.CANNOT_WORK).rule == "word number"
    split = bad(check(lay_out([ImageStation("a", telegram)]), numbering="word numbers"))
    assert ("word number", "a, outputs") in split
    even = bad(check(lay_out([ImageStation("a", telegram)], first_out=2, first_in=2), numbering="word numbers"))
    assert not even
    assert not bad(check(lay_out([ImageStation("a", telegram)])))


def test_a_double_word_that_only_its_words_keep_whole_is_named():
    energy = find("ENERGY")
    loose, whole = (ImageStation("a", of_words(2, whole=whole), (energy,)) for whole in (False, True))
    assert bad(check(lay_out([loose]))) == [("whole value", "a, inputs")]
    assert not bad(check(lay_out([whole])))


def test_many_values_are_counted_not_listed():
    found = check(lay_out([ImageStation("a", by_name("PPO 2"))], first_in=1))
    odd = next(one.found for one in found if one.rule == "odd byte")
    assert odd == "PKE, IND, PWE1, PWE2 and 3 more at an odd byte"  # ZSW1, NIST_A and the free words


@pytest.mark.parametrize(
    ("octets", "degree"), [(244, Degree.IN_ORDER), (246, Degree.CAUTION), (248, Degree.BY_EVERY_SOURCE)]
)
def test_the_length_of_one_telegram(octets, degree):
    # 244 bytes: Lenze EPM manual p.267; 246 without service access points: M. Felser, PROFIBUS Manual
    word, area = FormatWord("PZD", "free"), [Identifier("special", None, DataArea(1, "word"))] * (octets // 2)
    one = DataFormat("long", "device", (), (word,) * (octets // 2), encode(area[:122]), "", "", "", "memory")
    image = lay_out([ImageStation("a", by_name("PPO 3"))])
    stretch = image.of("in")[0]
    longer = type(image)(image.stations, (type(stretch)("a", "in", 0, octets),), image.places)
    assert one.bytes_in == octets
    assert max([f.degree for f in check(longer) if f.rule == "length"], default=Degree.IN_ORDER) == degree


def test_an_overlap_is_told_before_a_station_that_is_too_far_out():
    image = lay_out([ImageStation("a", THREE), ImageStation("b", THREE, first_in=2, first_out=30)])
    assert [one.rule for one in check(image, image_bytes=20)][:2] == ["overlap", "image size"]


def test_gaps_are_told_and_allowed():
    found = check(
        lay_out(
            [ImageStation("a", THREE), ImageStation("b", THREE, first_in=10), ImageStation("c", THREE, first_in=20)]
        )
    )
    told = {one.place: one for one in found if one.rule == "gap"}
    assert told["inputs"].found == "12 bytes in 2 gaps" and told["outputs"].found == "no gap"
    assert all(one.degree is Degree.IN_ORDER and not one.to_do for one in told.values())


def test_every_finding_says_what_is_allowed_and_how_it_is_known():
    image = lay_out([ImageStation("a", THREE, first_in=1), ImageStation("b", THREE, first_in=2)])
    found = check(image, image_bytes=4)
    assert [one.degree for one in found] == sorted((one.degree for one in found), reverse=True)
    assert all(one.allowed and one.source and bool(one.to_do) == (one.degree > 0) for one in found)
    assert check(lay_out([])) == ()


@settings(max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 40), st.sampled_from(["PPO 3", "PPO 1", "PPO 5"])), min_size=2, max_size=7))
def test_overlaps_are_those_that_counting_single_bytes_finds(laid):
    image = lay_out([ImageStation(str(n), by_name(name), (), None, at) for n, (at, name) in enumerate(laid)])
    bytes_of = {one.station: set(range(one.first_byte, one.last_byte + 1)) for one in image.of("in")}
    expected = {}
    for one in bytes_of:
        for other in bytes_of:
            if one < other and (common := bytes_of[one] & bytes_of[other]):
                expected[frozenset((one, other))] = (min(common), len(common))
    found = {frozenset((a.station, b.station)): (first, count) for a, b, first, count in overlaps(image, "in")}
    assert found == expected


def test_what_is_no_size_or_numbering_is_refused():
    with pytest.raises(OutOfRange, match="image size is 0 bytes"):
        check(lay_out([]), image_bytes=0)
    with pytest.raises(Unknown, match="byte numbers, word numbers"):
        check(lay_out([]), numbering="hexadecimal")
