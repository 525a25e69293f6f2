"""The I/O image: a second method that counts single bytes, published frames, and properties of generated layouts."""

import pytest
from golden import octets
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.device import formats, signals
from helpers.device.byte_order import iec_type, read_as
from helpers.device.identifiers import decode
from helpers.device.io_image import NUMBERINGS, ImageStation, address, bytes_told, lay_out, read_address, rules
from helpers.errors import OutOfRange, Unknown, Unreadable

EVERY = formats.all_formats()
STEPS = {"packed": 1, "even bytes": 2, "double words": 4}
WAYS = ("out", "in")


@st.composite
def some_stations(draw, by_hand=False):
    names = draw(st.lists(st.text(max_size=8), min_size=1, max_size=6, unique=True))
    where = st.none() | st.integers(0, 200) if by_hand else st.none()
    return [
        ImageStation(name, draw(st.sampled_from(EVERY)), (), n + 3, draw(where), draw(where))
        for n, name in enumerate(names)
    ]


def counted(image, way):
    """How many stations claim each byte, byte by byte: the second method."""
    claims = {}
    for one in image.of(way):
        for byte in range(one.first_byte, one.first_byte + one.length_bytes):
            claims[byte] = claims.get(byte, 0) + 1
    return claims


@settings(max_examples=40)
@given(some_stations(), st.sampled_from(rules()), st.integers(0, 300), st.integers(0, 300))
def test_a_rule_lays_every_station_and_lets_none_overlap(stations, rule, first_in, first_out):
    image = lay_out(stations, rule=rule, first_in=first_in, first_out=first_out, grid_bytes=64)
    for way, first in (("in", first_in), ("out", first_out)):
        claims = counted(image, way)
        assert set(claims.values()) <= {1}
        lengths = [one.format.bytes_in if way == "in" else one.format.bytes_out for one in stations]
        assert sum(claims.values()) == sum(lengths)
        for one in image.of(way):
            if rule == "grid":
                station = next(s for s in stations if s.name == one.station)
                assert one.first_byte == first + 64 * station.bus_address
            else:
                assert one.first_byte % STEPS[rule] == 0
        if rule == "packed":
            assert not image.gaps(way)


@settings(max_examples=40)
@given(some_stations(by_hand=True))
def test_used_bytes_and_gaps_make_up_the_span(stations):
    image = lay_out(stations, first_in=7)
    for way in WAYS:
        claims = counted(image, way)
        used, gaps = image.used_bytes(way), image.gaps(way)
        assert used == len(claims)
        assert image.end(way) == (max(claims) + 1 if claims else 0)
        assert used + sum(length for _, length in gaps) == (image.end(way) - min(claims) if claims else 0)
        assert not set(claims) & {byte for first, length in gaps for byte in range(first, first + length)}


@settings(max_examples=40)
@given(some_stations(), st.lists(st.sampled_from(signals.demo_signals()), max_size=6, unique=True))
def test_the_values_of_a_station_cover_its_bytes_once(stations, needs):
    image = lay_out([ImageStation(s.name, s.format, tuple(needs)) for s in stations])
    for stretch in image.stretches:
        places = [p for p in image.places if (p.station, p.direction) == (stretch.station, stretch.direction)]
        covered = [byte for p in places for byte in range(p.first_byte, p.first_byte + p.length_bytes)]
        assert covered == list(range(stretch.first_byte, stretch.last_byte + 1))
        assert all(iec_type(p.type).length_bytes == p.length_bytes for p in places)


@pytest.mark.parametrize("row", facts.rows("published/drive_frames"), ids=lambda row: row["octets"][:11])
def test_published_frames_have_their_words_where_the_image_says(row):
    # The source of each row stands in data/published/drive_frames.csv.
    way = row["direction"]
    image = lay_out([ImageStation("drive", formats.by_name(row["format"]))], first_out=256, first_in=256)
    printed = octets(row["octets"])
    found = {
        p.signal: read_as(printed[p.first_byte - 256 :][: p.length_bytes], p.type)
        for p in image.places
        if p.direction == way
    }
    word, speed = ("STW1", "NSOLL_A") if way == "out" else ("ZSW1", "NIST_A")
    assert len(printed) == image.stretch("drive", way).length_bytes
    assert (found[word], found[speed]) == (row.whole("word"), row.whole("speed"))
    assert (found["PKE"], found["PWE2"]) == tuple(int.from_bytes(printed[at : at + 2], "big") for at in (0, 6))


def test_what_the_drive_sends_is_an_input_and_rows_count_apart():
    image = lay_out([ImageStation("a", formats.by_name("Mill 2/3")), ImageStation("b", formats.by_name("Mill 2/3"))])
    assert [(one.station, one.address) for one in image.stretches] == [
        ("a", "%QB0 to %QB3"),
        ("a", "%IB0 to %IB5"),
        ("b", "%QB4 to %QB7"),
        ("b", "%IB6 to %IB11"),
    ]
    where = {(p.station, p.signal): p.address for p in image.places}
    assert where["a", "STW1"] == "%QW0" and where["a", "ZSW1"] == "%IW0" and where["b", "CURRENT"] == "%IW10"


def test_two_words_of_one_signal_are_one_double_word():
    # Standard telegram 2: STW1, NSOLL_B over two words, STW2: data/standard_telegrams.csv
    image = lay_out([ImageStation("a", formats.by_name("standard telegram 2"))], first_out=64)
    assert [(p.address, p.signal, p.type) for p in image.places if p.direction == "out"] == [
        ("%QW64", "STW1", "WORD"),
        ("%QD66", "NSOLL_B", "DINT"),
        ("%QW70", "STW2", "WORD"),
    ]


def test_free_words_carry_the_signals_named_and_own_ones_too():
    own = signals.own_signal("drum speed", bits=32, direction="in")
    narrow = signals.own_signal("ENERGY", bits=16, direction="in")  # not as wide as the drive's own
    image = lay_out([ImageStation("a", formats.by_name("PPO 4"), (own, narrow))])
    into = [(p.address, p.variable, p.type) for p in image.places if p.direction == "in"][2:]
    assert into == [("%ID4", "drum speed", "DWORD"), ("%IW8", "ENERGY", "WORD"), ("%IW10", "free_word_6", "WORD")]


def test_a_start_by_hand_wins_and_the_next_follows_behind():
    three = formats.by_name("PPO 3")
    image = lay_out([ImageStation("a", three), ImageStation("b", three, first_in=100), ImageStation("c", three)])
    assert [one.first_byte for one in image.of("in")] == [0, 100, 104]
    assert [one.first_byte for one in image.of("out")] == [0, 4, 8]
    assert image.stretch("x", "in") is None


def test_a_station_that_only_sends_has_no_outputs():
    word = formats.FormatWord("PZD1", "free")
    sensor = formats.DataFormat("1 word", "device", (), (word,), bytes([0xD0]), "", "", "", "memory")
    image = lay_out([ImageStation("a", sensor), ImageStation("b", formats.by_name("PPO 3"))])
    assert [one.address for one in image.stretches] == ["%IB0 to %IB1", "%QB0 to %QB3", "%IB2 to %IB5"]


def test_a_remote_station_has_bytes_and_words_instead_of_signals():
    # 11 = 2 bytes in, 22 = 3 bytes out: M. Felser, PROFIBUS Manual, compact format
    image = lay_out([ImageStation("a", decode(octets("11 22 00 51"))), ImageStation("b", formats.by_name("PPO 3"))])
    assert [(p.address, p.type, p.kept_whole) for p in image.places if p.station == "a"] == [
        ("%QB0", "BYTE", True), ("%QB1", "BYTE", True), ("%QB2", "BYTE", True),
        ("%IB0", "BYTE", True), ("%IB1", "BYTE", True), ("%IW2", "WORD", True), ("%IW4", "WORD", True),
    ]  # fmt: skip
    assert image.stretch("b", "out").first_byte == 3  # right behind an odd number of bytes
    assert lay_out(image.stations, rule="even bytes").stretch("b", "out").first_byte == 4


def test_byte_and_word_numbers_of_one_byte():
    assert [address("in", 256, n, numbering=w) for w in NUMBERINGS for n in (1, 2, 4)] == [
        "%IB256", "%IW256", "%ID256", "%IB256", "%IW128", "%ID64",
    ]  # fmt: skip
    assert address("out", 258, 4, numbering="word numbers") == address("out", 3, 2, numbering="word numbers") == ""


@given(st.sampled_from(WAYS), st.integers(0, 4000), st.sampled_from([1, 2, 4]), st.sampled_from(NUMBERINGS))
def test_an_address_is_read_back(way, unit, length, numbering):
    written = address(way, unit * length, length, numbering=numbering)
    assert read_address(f" {written.lower()} ", numbering=numbering) == (way, unit * length, length)


@pytest.mark.parametrize("text", ["", "IW", "%MW4", "%IW-2", "%IX0.1", "%IW٣", "%IW1 2", "16#10"])
def test_what_is_no_address_is_refused(text):
    with pytest.raises(Unreadable, match="%IW400"):
        read_address(text)


def test_bytes_in_words():
    image = lay_out([ImageStation("a", formats.by_name("standard telegram 2"))])
    assert bytes_told(image.places[0]) == "bytes 0 and 1" and bytes_told(image.places[1]) == "bytes 2 to 5"
    place = image.places[0]._replace(length_bytes=1)
    assert (bytes_told(place), place.address) == ("byte 0", "%QB0")


def test_what_cannot_be_laid_out_is_refused():
    one = ImageStation("a", formats.by_name("PPO 3"))
    with pytest.raises(Unknown, match="packed, even bytes, double words, grid"):
        lay_out([one], rule="tight")
    with pytest.raises(OutOfRange, match="a has no bus address"):
        lay_out([one], rule="grid")
    with pytest.raises(OutOfRange, match="first byte in is -1; allowed is 0 to 65535"):
        lay_out([one], first_in=-1)
    with pytest.raises(OutOfRange, match="first byte out of a is 65536"):
        lay_out([ImageStation("a", one.format, first_out=65536)])
    with pytest.raises(OutOfRange, match="grid step"):
        lay_out([one], grid_bytes=0)
    with pytest.raises(Unreadable, match="two stations are called 'a'"):
        lay_out([one, one])
    with pytest.raises(Unknown, match="direction"):
        lay_out([one]).of("up")
    assert lay_out([]).end("in") == 0
