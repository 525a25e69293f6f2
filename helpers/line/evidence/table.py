"""The table of evidence of one plant: what each fault, at each place and in each size, lets the instruments say.

It is kept in a text file that people can read and compare. A file belongs to one installation and one `VERSION`; for
any other it holds nothing. It is made by `make.py`, never while somebody works with it.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Iterator
from functools import cache, lru_cache
from math import isfinite
from pathlib import Path
from typing import Any, NamedTuple

from helpers.errors import Unreadable
from helpers.facts import DATA
from helpers.files import own_folder
from helpers.line.evidence.expected import By_line, Expected, exactly, merged, misfit
from helpers.line.evidence.noted import noted
from helpers.line.evidence.observe import Observed, Spot
from helpers.line.faults.catalogue import possible
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.reading import Reading
from helpers.line.plant.build import installation_of
from helpers.line.plant.installation import Installation
from helpers.plan.my_networks import demo_network

# Raise it by 1 when a table that was made before would come out different: another fault, instrument or size, another
# behaviour of the line, another wording of a reading. The test that makes a sample anew fails until that is done.
VERSION = 1
SHIPPED = DATA / "demo/fault_evidence.json"
MOST_BYTES = 60_000_000

_ABOUT = (
    "Worked out: what each single fault lets the instruments say, where that is not as in the plant without a fault. "
    "One line for each fault and place, then one for each instrument: its places, and the lines that differ. A list of "
    "values has one for each size of the fault; a list in a list means that the line changes while one looks."
)
_FLOAT = re.compile(r"\d+\.\d+(?:e[-+]\d+)?|\d+e[-+]\d+")
_MOVES = "moves"

Key = tuple[str, str]  # key of the fault, words of its place


class Candidates(NamedTuple):
    """The single faults that fit what was read, and those of which the table has nothing."""

    fitting: tuple[Chosen, ...]
    unknown: tuple[Chosen, ...]


@lru_cache(8)
def mark_of(installation: Installation) -> str:
    """What tells the plan of one installation from another, the same on every machine.

    Numbers count with nine digits: their last ones differ from processor to processor.
    """
    cables = [(stretch.name, stretch.devices, stretch.circuit) for stretch in installation.stretches]
    devices = [
        (device.name, device.kind, device.ident, device.address, device.settings.active.data_format,
         sorted(device.rates), device.min_slave_interval_s, device.user_octets, sorted(device.offers))
        for device in installation.devices
    ]  # fmt: skip
    stations = [
        (station.name, station.address, station.ident, station.data_format, station.watchdog_s, station.user)
        for station in installation.loaded.stations
    ]
    told = repr((installation.bit_rate, installation.delay_bits, cables, devices, stations))
    rounded = _FLOAT.sub(lambda found: f"{float(found[0]):.9g}", told)
    return hashlib.sha256(rounded.encode()).hexdigest()[:16]


def kept_at(installation: Installation) -> Path:
    """Where the table of an installation lies in the user's own folder."""
    return own_folder() / "evidence" / f"evidence-{mark_of(installation)}.json"


class Evidence:
    """What is known of the faults of one installation. A fault is a `Chosen` of `all`; its seed does not count.

    as_built: what is read comes from a plant that is not quite as the plan says; else it is exactly as planned.
    """

    def __init__(self, installation: Installation, *, as_built: bool = False) -> None:
        self.installation, self.as_built = installation, as_built
        self.all: tuple[Chosen, ...] = possible(installation)
        self.usual: Observed = {}
        self._sizes: dict[Key, tuple[Observed, ...]] = {}
        self._merged: dict[tuple[Key, Spot], By_line] = {}

    # -- questions ----------------------------------------------------------------------------------------------------

    @property
    def complete(self) -> bool:
        """True if the table has every fault at every place."""
        return all(key_of(chosen) in self._sizes for chosen in self.all)

    def known(self, chosen: Chosen) -> bool:
        """True if the table has this fault."""
        return key_of(chosen) in self._sizes

    def sizes(self, chosen: Chosen, key: str, place: str) -> tuple[By_line, ...]:
        """What an instrument says at a place, for each size of the fault."""
        healthy = self.usual.get((key, place), {})
        return tuple(size.get((key, place), healthy) for size in self._sizes.get(key_of(chosen), ()))

    def expected(self, chosen: Chosen, key: str, place: str) -> By_line:
        """What an instrument may say at a place if this fault is in the line, in any of its sizes."""
        at = key_of(chosen), (key, place)
        if at not in self._merged:
            several = self.sizes(chosen, key, place)
            usual = self.usual.get((key, place), {})
            self._merged[at] = usual if all(each is usual for each in several) else merged(several)
        return self._merged[at]

    def healthy(self, key: str, place: str) -> By_line:
        """What an instrument says at a place if nothing is wrong."""
        return self.usual.get((key, place), {})

    def candidates(self, readings: Iterable[Reading], among: Iterable[Chosen] | None = None) -> Candidates:
        """The single faults that would give these readings."""
        read, faults = tuple(dict.fromkeys(readings)), tuple(self.all if among is None else among)
        known = [chosen for chosen in faults if self.known(chosen)]
        fitting = tuple(chosen for chosen in known if all(self.why_not(chosen, reading) is None for reading in read))
        return Candidates(fitting, tuple(chosen for chosen in faults if not self.known(chosen)))

    def why_not(self, chosen: Chosen, reading: Reading) -> str | None:
        """The line of a reading that can't be if this fault is in the line; None if all fit."""
        expected = self.expected(chosen, reading.instrument, reading.place)
        return misfit(noted(reading, self.installation), expected, reading.instrument, as_built=self.as_built)

    # -- filling ------------------------------------------------------------------------------------------------------

    def put(self, chosen: Chosen, sizes: Iterable[Observed]) -> None:
        """Take up what a fault lets the instruments say, size by size; only what is not as usual is kept."""
        self._sizes[key_of(chosen)] = tuple(
            {at: lines for at, lines in size.items() if lines != self.usual.get(at)} for size in sizes
        )
        self._merged.clear()

    @property
    def text(self) -> str:
        """The table as it is kept."""
        head = json.dumps([_ABOUT, VERSION, mark_of(self.installation)], ensure_ascii=False)
        rows = [_row(("", ""), (self.usual,), {})]
        rows += [
            _row(key_of(chosen), self._sizes[key_of(chosen)], self.usual) for chosen in self.all if self.known(chosen)
        ]
        return "[\n" + ",\n".join([head, *rows]) + "\n]\n"

    def save(self, path: Path) -> None:
        """Write the table: whole, or not at all. Raises `OSError` where that can't be."""
        path.parent.mkdir(parents=True, exist_ok=True)
        beside = path.with_suffix(f".{id(self)}.part")
        try:
            beside.write_text(self.text, encoding="utf-8", newline="\n")
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)


def key_of(chosen: Chosen) -> Key:
    """Where the table has a fault."""
    return chosen.fault.key, chosen.place.words


def evidence_of(installation: Installation, *, as_built: bool = False) -> Evidence:
    """The table of an installation, from what is shipped or what the user has made; an empty one if there is none.

    A file that is damaged, of another version or of another installation counts as none.
    """
    for path in (SHIPPED, kept_at(installation)):
        try:
            return read(path, installation, as_built=as_built)
        except (OSError, Unreadable):
            continue
    return Evidence(installation, as_built=as_built)


@cache
def demo_evidence() -> Evidence:
    """The table of the demo site, as it is shipped."""
    return read(SHIPPED, installation_of(demo_network()))


def read(path: Path, installation: Installation, *, as_built: bool = False) -> Evidence:
    """The table in a file. `Unreadable` if it is damaged, or of another version or installation."""
    if path.stat().st_size > MOST_BYTES:
        raise Unreadable(f"{path.name} is larger than {MOST_BYTES} bytes; no table of evidence is.")
    found = Evidence(installation, as_built=as_built)
    places = {key_of(chosen): chosen for chosen in found.all}
    try:
        (_, *stamp), (_, _, healthy), *rows = json.loads(path.read_text(encoding="utf-8"))
        if stamp != [VERSION, mark_of(installation)]:
            raise Unreadable(f"{path.name} is of another plan or another version of the workbook; make it anew.")
        (found.usual,) = _observed(healthy[1:], 1, {})
        for fault, place, count, readings in ((*row[:2], row[2][0], row[2][1:]) for row in rows):
            if (fault, place) in places:
                found._sizes[fault, place] = tuple(_observed(readings, count, found.usual))
    except (AttributeError, IndexError, KeyError, TypeError, ValueError) as error:
        raise Unreadable(f"{path.name} is damaged ({error}); make it anew.") from None
    return found


# -- the form in which it is kept -------------------------------------------------------------------------------------


def _row(key: Key, sizes: tuple[Observed, ...], usual: Observed) -> str:
    """One fault: places at which the same is read are put together."""
    alike: dict[tuple[str, str], list[str]] = {}
    for at in dict.fromkeys(at for size in sizes for at in size):
        healthy = usual.get(at, {})
        each = [size.get(at, healthy) for size in sizes]
        names = dict.fromkeys(what for lines in (healthy, *each) for what in lines)
        lines = {
            what: values[0] if all(value == values[0] for value in values) else values
            for what in names
            if (values := [_plain(lines.get(what)) for lines in each]) != [_plain(healthy.get(what))] * len(each)
        }
        alike.setdefault((at[0], _json(lines)), []).append(at[1])
    readings = [f"  [{_json(instrument)}, {_json(places)}, {lines}]" for (instrument, lines), places in alike.items()]
    return f"[{_json(key[0])}, {_json(key[1])}, [{len(sizes)}" + "".join(f",\n{each}" for each in readings) + "]]"


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _plain(expected: Expected | None) -> Any:
    """A line of one size: a text, nothing, or what it moves between."""
    if expected is None:
        return None
    ends = [f"{end:.6g} {expected.unit}" for end in dict.fromkeys((expected.low, expected.high)) if isfinite(end)]
    seen = [*sorted(expected.texts), *ends]
    return {_MOVES: seen} if expected.changes or len(seen) > 1 else seen[0]


def _observed(readings: Any, count: int, usual: Observed) -> Iterator[Observed]:
    """The sizes of one fault."""
    sizes: list[Observed] = [{} for _ in range(count)]
    for instrument, places, changed in readings:
        for place in places:
            at = (instrument, place)
            for number, size in enumerate(sizes):
                lines = dict(usual.get(at, {}))
                for what, seen in changed.items():
                    value = seen[number] if isinstance(seen, list) else seen
                    if value is None:
                        lines.pop(what, None)
                    else:
                        moves = isinstance(value, dict)
                        lines[what] = _expected(tuple(value[_MOVES]) if moves else (value,), changes=moves)
                if lines != usual.get(at):
                    size[at] = lines
    yield from sizes


@lru_cache(65536)
def _expected(seen: tuple[str, ...], *, changes: bool = False) -> Expected:
    each = [exactly(text) for text in seen]
    texts: frozenset[str] = frozenset().union(*(one.texts for one in each))
    unit = next((one.unit for one in each if one.unit), "")
    return Expected(texts, min(one.low for one in each), max(one.high for one in each), unit, changes)
