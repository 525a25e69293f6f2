"""The signatures of all single faults of an installation, made when they are asked for and kept on the disk.

A file belongs to one installation, to the data tables and to the code of the workbook: another of these, another file.
Files of other code or tables are of no use any more and are deleted once a new one is written.
A folder that can't be written is no trouble; everything is then made anew next time.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import math
import os
import re
import time
import zlib
from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import cache
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NamedTuple

from helpers.facts import DATA
from helpers.line.faults.catalogue import possible
from helpers.line.faults.fault import Chosen
from helpers.line.installation import Installation
from helpers.line.instruments.reading import Reading, instruments
from helpers.line.practice.expected import Expected, Lines, misfit
from helpers.line.practice.signature import (
    PARTS,
    Part,
    differing,
    of_all_sizes,
    of_one_size,
    part_of,
    signature,
    variants,
)

_FLOORS = ("bus", "device", "drive", "line")
_SAVE_EVERY = 100
# Names of our files: a sum over code and tables, and one over the installation; once it was one over both.
_OURS = re.compile(r"signatures-(?:([0-9a-f]{12})-)?[0-9a-f]{16}\.json\.gz")
_COSTS = {instrument.key: PARTS.index(part_of(instrument.key)) for instrument in instruments()}


class Candidates(NamedTuple):
    """The single faults that fit what was read, and those for which the time did not suffice to find out."""

    fitting: tuple[Chosen, ...]
    unknown: tuple[Chosen, ...]


class Signatures:
    """What each single fault of an installation lets the instruments say.

    folder: where they are kept, None for memory alone. A fault is a `Chosen` of `candidates`, its seed does not count:
    a signature is that of all its sizes.
    """

    def __init__(self, installation: Installation, folder: Path | None = None) -> None:
        self.installation = installation
        self.all: tuple[Chosen, ...] = possible(installation)
        self._path = folder and folder / f"signatures-{_own()}-{_sum(installation)}.json.gz"
        self._parts: dict[tuple[int, str], Part] = {}
        self._healthy: dict[str, Part] = {}
        self._begun: dict[tuple[int, str], list[Part]] = {}
        self._number = {(each.fault.key, each.place.words): n for n, each in enumerate(self.all)}
        self._worker: tuple[Any, Connection] | None = None
        self._unsaved = 0
        self._load()

    # -- questions ----------------------------------------------------------------------------------------------------

    @property
    def progress(self) -> float:
        """How much is made, from 0 to 1. Takes up what a process in the background has finished."""
        self._take_up()
        total = len(self.all) * len(PARTS)
        return len(self._parts) / total if total else 1.0

    def known(self, chosen: Chosen, key: str) -> bool:
        """True if what an instrument says of a fault needs no more work."""
        return (self._index(chosen), part_of(key)) in self._parts

    def expected(self, chosen: Chosen, key: str, place: str) -> Lines:
        """What an instrument may say at a place if this fault is in the line; it is made now if need be."""
        part = part_of(key)
        mine = self._made(self._index(chosen), part) or {}
        return mine.get((key, place)) or self.healthy(key, place)

    def healthy(self, key: str, place: str) -> Lines:
        """What an instrument says at a place if nothing is wrong."""
        return self._sound(part_of(key)).get((key, place), {})

    def candidates(
        self, readings: Iterable[Reading], among: Iterable[Chosen] | None = None, *, seconds: float = 4.0
    ) -> Candidates:
        """The single faults that would give these readings.

        Cheap readings are held against them first, and only what they leave is run for the dear ones. After so many
        seconds what is not made yet stays unknown; what is run at that moment, one fault of one size, is finished.
        """
        self._take_up()
        until = time.monotonic() + seconds
        left, unknown = list(self.all if among is None else among), list[Chosen]()
        for reading in sorted(set(readings), key=lambda r: _COSTS[r.instrument]):
            fitting = []
            for chosen in left:
                if self._made(self._index(chosen), part_of(reading.instrument), until) is None:
                    unknown += [chosen] if chosen not in unknown else []
                    fitting.append(chosen)
                elif self.why_not(chosen, reading) is None:
                    fitting.append(chosen)
            left = fitting
        return Candidates(tuple(c for c in left if c not in unknown), tuple(c for c in left if c in unknown))

    def why_not(self, chosen: Chosen, reading: Reading) -> str | None:
        """The line of a reading that can't be if this fault is in the line; None if all fit."""
        return misfit(reading, self.expected(chosen, reading.instrument, reading.place))

    # -- making -------------------------------------------------------------------------------------------------------

    def work(self, seconds: float) -> bool:
        """Make signatures for about so many seconds; True if all are made."""
        until = time.monotonic() + seconds
        for number, part in self._missing():
            if self._made(number, part, until) is None:
                return False
        self.save()
        return True

    def start(self) -> None:
        """Make the signatures in a process of its own; `progress` takes up what it has finished."""
        if self._worker or next(self._missing(), None) is None:
            return
        context = get_context("spawn")
        here, there = context.Pipe(duplex=False)
        missing = list(self._missing())
        process = context.Process(target=_work, args=(self.installation, missing, there), daemon=True)
        process.start()
        there.close()
        self._worker = process, here

    def stop(self) -> None:
        """End the process in the background and keep what it has made."""
        self._take_up()
        if self._worker:
            process, pipe = self._worker
            self._worker = None
            process.terminate()
            process.join()
            pipe.close()
        self.save()

    def _index(self, chosen: Chosen) -> int:
        return self._number[chosen.fault.key, chosen.place.words]

    def _missing(self) -> Iterator[tuple[int, str]]:
        return (
            (number, part) for part in PARTS for number in range(len(self.all)) if (number, part) not in self._parts
        )

    def _sound(self, part: str) -> Part:
        if part not in self._healthy:
            self._healthy[part] = signature((self.installation,), part)
        return self._healthy[part]

    def _made(self, number: int, part: str, until: float = math.inf) -> Part | None:
        """A part, made now if need be; None if the time is up. The sizes that were run are kept for the next time."""
        found = self._parts.get((number, part))
        if found is None:
            if time.monotonic() > until:
                return None
            begun = self._begun.setdefault((number, part), [])
            for each in variants(self.installation, self.all[number])[len(begun) :]:
                if time.monotonic() > until:
                    return None
                begun.append(of_one_size(each, part))
            found = self._parts[number, part] = differing(of_all_sizes(begun), self._sound(part))
            del self._begun[number, part]
            self._unsaved += 1
        return found

    def _take_up(self) -> None:
        if self._worker is None:
            return
        process, pipe = self._worker
        try:
            while pipe.poll():
                number, part, made = pipe.recv()
                self._parts.setdefault((number, part), differing(made, self._sound(part)))
                self._unsaved += 1
        except (EOFError, OSError):  # it is done, or somebody has ended it
            pipe.close()
            process.join()
            self._worker = None
            self.save()
        if self._unsaved >= _SAVE_EVERY:
            self.save()

    # -- the disk -----------------------------------------------------------------------------------------------------

    def save(self) -> bool:
        """Write what is made to the disk and delete what other versions of the workbook have left there.

        False if that is not possible, which does no harm.
        """
        if self._path is None or not self._unsaved:
            return self._path is not None
        kept = [
            [number, part, [[*spot, [[what, *_plain(e)] for what, e in lines.items()]] for spot, lines in made.items()]]
            for (number, part), made in sorted(self._parts.items())
        ]
        beside = self._path.with_suffix(f".{os.getpid()}")
        try:
            beside.write_bytes(gzip.compress(json.dumps(kept).encode(), mtime=0))
            beside.replace(self._path)
        except OSError:
            with suppress(OSError):
                beside.unlink()
            return False
        self._unsaved = 0
        for file in self._path.parent.iterdir():
            ours = _OURS.fullmatch(file.name)
            if ours and ours[1] != _own():
                with suppress(OSError):  # somebody else may hold it, or has deleted it
                    file.unlink()
        return True

    def _load(self) -> None:
        if self._path is None:
            return
        try:
            kept = json.loads(gzip.decompress(self._path.read_bytes()))
            for number, part, spots in kept:
                made = {
                    (key, place): {
                        what: Expected(frozenset(texts), float(low), float(high), bool(changes))
                        for what, texts, low, high, changes in lines
                    }
                    for key, place, lines in spots
                }
                if part in PARTS and 0 <= number < len(self.all):
                    self._parts[number, part] = made
        except (OSError, EOFError, zlib.error, ValueError, TypeError):
            self._parts.clear()  # not there, or damaged: it is made anew


def _plain(expected: Expected) -> tuple[list[str], float, float, bool]:
    return sorted(expected.texts), expected.low, expected.high, expected.changes


def _work(installation: Installation, missing: list[tuple[int, str]], pipe: Connection) -> None:
    """What the process in the background does; it ends with whoever has started it."""
    if hasattr(os, "nice"):
        os.nice(10)
    every = possible(installation)
    try:
        for number, part in missing:
            pipe.send((number, part, signature(variants(installation, every[number]), part)))
    except (BrokenPipeError, KeyboardInterrupt):
        return
    finally:
        pipe.close()


def _sum(installation: Installation) -> str:
    return hashlib.sha256(repr(installation).encode()).hexdigest()[:16]


@cache
def _own() -> str:
    """A sum over the code and the tables from which signatures are made."""
    found = hashlib.sha256()
    code = [path for floor in _FLOORS for path in (Path(__file__).parents[2] / floor).rglob("*.py")]
    for path in sorted([*code, *DATA.glob("*.csv"), *DATA.glob("demo/*.csv")]):
        found.update(path.read_bytes())
    return found.hexdigest()[:12]
