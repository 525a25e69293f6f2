"""The answer on an I/O image: where the words of each station lie in the controller, as pictures, table and files."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from helpers import facts
from helpers.answer import Answer, Row, TakeAway
from helpers.device.identifiers import Configuration, as_written
from helpers.device.io_checks import check, overlaps
from helpers.device.io_export import declarations, to_csv
from helpers.device.io_image import AREA, NUMBERINGS, Image, ImagePlace, ImageStation, address, lay_out
from helpers.safe_work import cautions
from helpers.verdict import Degree, Finding, worst
from helpers.wording import capital_first, counted, short

WAYS = {"out": "Outputs, to the stations", "in": "Inputs, from the stations"}
IMAGE_BYTES = max(row.whole("image_bytes") for row in facts.rows("demo/io_image"))
_OPEN_ROWS = 4


@dataclass(frozen=True)
class RulerPicture:
    """Both areas as byte rulers: a box for each station, and the bytes that two of them claim."""

    image: Image

    @property
    def says(self) -> str:
        """The stations of each area, and where two overlap."""
        return " ".join(_told(self.image, way) for way in WAYS)


@dataclass(frozen=True)
class StationPicture:
    """One station of an image value by value, each with its address; `number` counts from 1."""

    image: Image
    number: int
    numbering: str = NUMBERINGS[0]

    @property
    def station(self) -> ImageStation:
        """The station."""
        return self.image.stations[self.number - 1]

    def places(self, way: str) -> list[ImagePlace]:
        """Its values in one direction."""
        return [p for p in self.image.places if (p.station, p.direction) == (self.station.name, way)]

    @property
    def says(self) -> str:
        """Each value with its address."""
        values = (place for way in WAYS for place in self.places(way))
        told = "; ".join(f"{p.signal or 'free'} at {numbered(p, self.numbering)}" for p in values)
        return f"Station {self.number}, {self.station.name}: {told or 'no data'}."


def _told(image: Image, way: str) -> str:
    listed = "; ".join(f"{stretch.station} {stretch.address}" for stretch in image.of(way)) or "none"
    common = "; ".join(f"{a.station} and {b.station} share byte {first}" for a, b, first, _ in overlaps(image, way))
    return f"{WAYS[way]}: {listed}.{f' Overlap: {common}.' if common else ''}"


def numbered(place: ImagePlace, numbering: str) -> str:
    """The address of a value in one of the numberings; “none” where it has none."""
    return address(place.direction, place.first_byte, place.length_bytes, numbering=numbering) or "none"


def io_image_answer(
    stations: Sequence[ImageStation],
    *,
    rule: str = "packed",
    first_in: int = 0,
    first_out: int = 0,
    grid_bytes: int = 32,
    image_bytes: int = IMAGE_BYTES,
    numbering: str = NUMBERINGS[0],
    detail: int = 1,
) -> Answer:
    """The image of a list of stations: verdict, both areas to scale, one station word by word, table and files."""
    image = lay_out(stations, rule=rule, first_in=first_in, first_out=first_out, grid_bytes=grid_bytes)
    findings = check(image, image_bytes=image_bytes, numbering=numbering)
    chosen = min(detail, len(stations))
    table = [_station_row(image, n, station) for n, station in enumerate(stations, 1)]
    few = len(table) <= _OPEN_ROWS
    # The file holds all values; a page of thousands of rows would only make the panel slow.
    which = "all stations" if few else f"station {chosen}"
    listed = [place for place in image.places if few or place.station == stations[chosen - 1].name]
    bad = [finding for finding in findings if finding.degree is not Degree.IN_ORDER]
    return Answer(
        _sentence(image, bad),
        degree=worst(findings),
        because=_because(rule, bad),
        caution=cautions("first output"),
        pictures=[RulerPicture(image), StationPicture(image, chosen, numbering)],
        rows=table if few else (),
        folded=[
            (f"The {len(table)} stations", [] if few else table),
            (f"Every value of {which} with its address", [_value_row(place) for place in listed]),
            ("Every check", [_finding_row(finding) for finding in findings]),
        ],
        sources=_sources(stations),
        files=[
            TakeAway("io-image.csv", to_csv(image.places).encode("utf-8-sig", "backslashreplace")),
            TakeAway("io-variables.st", declarations(image, numbering=numbering).encode(), "text/plain"),
        ],
    )


def _sentence(image: Image, bad: Sequence[Finding]) -> str:
    if bad:
        more = f" And {len(bad) - 1} more, see the checks." if len(bad) > 1 else ""
        return f"{capital_first(bad[0].rule)}: {short(bad[0].place, 60)}: {short(bad[0].found, 80)}.{more}"
    parts = [
        f"{image.used_bytes(way)} bytes of {name} up to %{AREA[way]}B{image.end(way) - 1}"
        for way, name in (("out", "outputs"), ("in", "inputs"))
        if image.of(way)
    ]
    count = counted(len(image.stations), "station")
    return f"{count}: {', '.join(parts) or 'no data at all'}. No byte belongs to two."


def _because(rule: str, bad: Sequence[Finding]) -> str:
    if bad:
        return f"Allowed: {bad[0].allowed} ({bad[0].source}). {bad[0].to_do}"
    return f"Rule {rule}: {facts.one('io_layout_rules', rule=rule)['says']}."


def _station_row(image: Image, number: int, station: ImageStation) -> Row:
    row: dict[str, object] = {"no.": number, "station": short(station.name, 30), "format": _format_name(station)}
    for way, heading in (("out", "outputs"), ("in", "inputs")):
        stretch = image.stretch(station.name, way)
        row[f"{heading} at"] = stretch.address if stretch else "–"
        row[f"bytes {way}"] = stretch.length_bytes if stretch else 0
    return row


def _format_name(station: ImageStation) -> str:
    if isinstance(station.format, Configuration):
        return short(as_written(station.format.octets), 20)
    return station.format.name


def _value_row(place: ImagePlace) -> Row:
    return {
        "station": short(place.station, 30),
        "byte numbers": place.address,
        "word numbers": place.word_address or "none",
        "signal": place.signal or "free",
        "meaning": place.meaning,
        "shown as": place.type,
        "kept whole": "yes" if place.kept_whole else "no",
    }


def _finding_row(finding: Finding) -> Row:
    return {"rule": finding.rule, "where": short(finding.place, 60), "found": finding.found, "verdict": finding.degree,
            "source": finding.source}  # fmt: skip


def _sources(stations: Iterable[ImageStation]) -> list[str]:
    formats = {
        station.format.name: station.format for station in stations if not isinstance(station.format, Configuration)
    }
    return [
        *(f"{name}: {form.cited}" for name, form in formats.items()),
        *(f"{row['numbering']}: {row['says']}; {row.cited}" for row in facts.rows("io_numbering")),
    ]
