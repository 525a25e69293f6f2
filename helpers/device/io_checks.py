"""What is wrong with an I/O image: overlap, the end of the image, odd bytes, values that are not kept whole, gaps.

The rules are rows of `data/io_rules.csv`. What cannot work at all is not allowed; what works with care is a caution.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from helpers import facts
from helpers.device.io_image import AREA, NUMBERINGS, ByteStretch, Image, ImagePlace
from helpers.device.signals import DIRECTIONS
from helpers.errors import in_range, one_of
from helpers.verdict import Degree, Finding, judge_most, worst_first

_MOST_NAMED = 4  # so many values of one station are named in a finding; the rest is counted


def check(image: Image, *, image_bytes: int | None = None, numbering: str = NUMBERINGS[0]) -> tuple[Finding, ...]:
    """Every finding on an image, the worst first. What is in order is said too, once for each direction.

    Parameters: image; image_bytes, the size of each of the controller's two areas, None if it is not known;
    numbering, `byte numbers` or `word numbers`: whether a word at an odd byte has an address at all.
    Errors: `OutOfRange` for a size that is no size; `Unknown` for a numbering.
    Validity: the size of a real controller's image, and whether it takes words at odd bytes, are in its manual.
    Source: data/io_rules.csv.

    >>> from helpers.device.formats import by_name
    >>> from helpers.device.io_image import ImageStation, lay_out
    >>> found = check(lay_out([ImageStation("fan 1", by_name("PPO 3"), first_out=7)]))
    >>> [(one.rule, one.place, one.verdict) for one in found][0]
    ('odd byte', 'fan 1, outputs', 'outside cautious practice')
    """
    one_of("numbering", numbering, NUMBERINGS)
    if image_bytes is not None:
        limit = facts.one("io_limits", what="image size in bytes")
        in_range("image size", image_bytes, limit.whole("least"), limit.whole("most"), "bytes", limit.cited)
    found: list[Finding] = []
    used = [way for way in DIRECTIONS if image.of(way)]
    for way in used:
        found += _overlaps(image, way)
    for way in used:
        found += _size(image, way, image_bytes)
        found += _lengths(image, way)
        found += _gaps(image, way)
    found += _starts(image, numbering)
    found += _torn(image)
    return worst_first(found)


def overlaps(image: Image, direction: str) -> tuple[tuple[ByteStretch, ByteStretch, int, int], ...]:
    """Pairs of stations that claim the same bytes: both, first common byte, and how many are common.

    >>> from helpers.device.formats import by_name
    >>> from helpers.device.io_image import ImageStation, lay_out
    >>> two = lay_out([ImageStation("a", by_name("PPO 3")), ImageStation("b", by_name("PPO 3"), first_in=3)])
    >>> [(one.station, other.station, first, count) for one, other, first, count in overlaps(two, "in")]
    [('a', 'b', 3, 1)]
    """
    found: list[tuple[ByteStretch, ByteStretch, int, int]] = []
    open_: list[ByteStretch] = []
    for one in image.of(direction):
        open_ = [earlier for earlier in open_ if earlier.last_byte >= one.first_byte]
        found += [
            (earlier, one, one.first_byte, min(earlier.last_byte, one.last_byte) - one.first_byte + 1)
            for earlier in open_
        ]
        open_.append(one)
    return tuple(found)


def _overlaps(image: Image, way: str) -> Iterator[Finding]:
    for one, other, first, count in overlaps(image, way):
        common = f"{count} common byte{'s' if count > 1 else ''} from %{AREA[way]}B{first}"
        yield _finding("overlap", f"{one.station} and {other.station}, {_area(way)}", common, Degree.CANNOT_WORK)


def _size(image: Image, way: str, image_bytes: int | None) -> Iterator[Finding]:
    if image_bytes is None:
        return
    for one in image.of(way):
        if one.last_byte >= image_bytes:
            said = f"last byte %{AREA[way]}B{one.last_byte}; the image ends at %{AREA[way]}B{image_bytes - 1}"
            yield _finding("image size", f"{one.station}, {_area(way)}", said, Degree.CANNOT_WORK)
    if image.end(way) <= image_bytes:
        said = f"{image.end(way)} of {image_bytes} bytes, counted to the last station"
        yield _finding("image size", _area(way), said, Degree.IN_ORDER)


def _lengths(image: Image, way: str) -> Iterator[Finding]:
    limit = facts.most(facts.where("cyclic_lengths", what="cyclic data"), "most_octets")
    for one in image.of(way):
        if one.length_bytes > limit.cautious:
            degree = judge_most(one.length_bytes, limit)
            yield _finding("length", f"{one.station}, {_area(way)}", f"{one.length_bytes} bytes", degree)


def _gaps(image: Image, way: str) -> Iterator[Finding]:
    gaps = image.gaps(way)
    total = sum(length for _, length in gaps)
    said = (
        f"{total} byte{'s' if total > 1 else ''} in {len(gaps)} gap{'s' if len(gaps) > 1 else ''}" if gaps else "no gap"
    )
    yield _finding("gap", _area(way), said, Degree.IN_ORDER)


def _starts(image: Image, numbering: str) -> Iterator[Finding]:
    for one, places in _by_stretch(image):
        where = f"{one.station}, {_area(one.direction)}"
        if odd := [place for place in places if place.first_byte % 2]:
            said = f"{_named(odd)} at an odd byte"
            if numbering == NUMBERINGS[0]:
                yield _finding("odd byte", where, said, Degree.CAUTION)
            else:
                yield _finding("word number", where, f"{said}: no word number", Degree.CANNOT_WORK)
        elif numbering != NUMBERINGS[0] and (split := [place for place in places if not place.word_address]):
            said = f"{_named(split)} at a byte that can't be divided by four: no number as a double word"
            yield _finding("word number", where, said, Degree.CAUTION)


def _torn(image: Image) -> Iterator[Finding]:
    for one, places in _by_stretch(image):
        if loose := [place for place in places if not place.kept_whole]:
            said = f"{_named(loose)}: {loose[0].promise}"
            yield _finding("whole value", f"{one.station}, {_area(one.direction)}", said, Degree.CAUTION)


def _by_stretch(image: Image) -> Iterator[tuple[ByteStretch, list[ImagePlace]]]:
    grouped: dict[tuple[str, str], list[ImagePlace]] = {}
    for place in image.places:
        grouped.setdefault((place.station, place.direction), []).append(place)
    for one in image.stretches:
        yield one, grouped[one.station, one.direction]


def _named(places: Iterable[ImagePlace]) -> str:
    names = list(dict.fromkeys(place.signal or "free words" for place in places))
    more = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _area(way: str) -> str:
    return {"out": "outputs", "in": "inputs"}[way]


def _finding(rule: str, place: str, found: str, degree: Degree) -> Finding:
    row = facts.one("io_rules", rule=rule)
    to_do = "" if degree is Degree.IN_ORDER else row["to_do"]
    return Finding(rule, place, found, row["allowed"], row.cited, to_do, degree)
