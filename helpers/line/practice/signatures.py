"""The signatures of all single faults of an installation, made when they are asked for and kept on the disk.

A file belongs to one installation, to the data tables and to the code of the workbook: another of these, another file.
Files of other code or tables are of no use any more and are deleted once a new one is written.
A folder that can't be written is no trouble; everything is then made anew next time.
Those of the demo site, whose plan never changes, are shipped with the workbook.
"""

from __future__ import annotations

import gzip
import math
import os
import re
import time
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NamedTuple

from helpers.facts import DATA
from helpers.line.faults.catalogue import possible
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.reading import Reading, instruments
from helpers.line.plant.installation import Installation
from helpers.line.practice import signature_file
from helpers.line.practice.cache_key import of_code, of_installation
from helpers.line.practice.expected import Lines, misfit
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
from helpers.line.practice.signature_file import Kept, Key

SHIPPED = DATA / "demo/fault_signatures.json"
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

    folder: where they are kept; what is shipped with the workbook is taken with it. None: memory alone, and all is made
    anew. A fault is a `Chosen` of `all`, its seed does not count: a signature is that of all its sizes. `stamp` changes
    with whatever they depend on.
    """

    def __init__(self, installation: Installation, folder: Path | None = None) -> None:
        self.installation = installation
        self.all: tuple[Chosen, ...] = possible(installation)
        self.stamp = f"{of_code()}-{of_installation(installation)}"
        self._path = folder and folder / f"signatures-{self.stamp}.json.gz"
        self._parts: dict[Key, Part] = {}
        self._healthy: dict[str, Part] = {}
        self._begun: dict[Key, list[Part]] = {}
        self._workers: list[tuple[Any, Connection]] = []
        self._unsaved = 0
        self._load()

    # -- questions ----------------------------------------------------------------------------------------------------

    @property
    def progress(self) -> float:
        """How much is made, from 0 to 1. Takes up what a process in the background has finished."""
        self._take_up()
        total = len(self.all) * len(PARTS)
        return 1 - sum(1 for _ in self._missing()) / total if total else 1.0

    @property
    def working(self) -> bool:
        """True while a process in the background makes signatures. Takes up what it has finished."""
        self._take_up()
        return bool(self._workers)

    def known(self, chosen: Chosen, key: str) -> bool:
        """True if what an instrument says of a fault needs no more work."""
        return _key(chosen, part_of(key)) in self._parts

    def expected(self, chosen: Chosen, key: str, place: str) -> Lines:
        """What an instrument may say at a place if this fault is in the line; it is made now if need be."""
        mine = self._made(chosen, part_of(key)) or {}
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
                if self._made(chosen, part_of(reading.instrument), until) is None:
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
        for chosen, part in self._missing():
            if self._made(chosen, part, until) is None:
                return False
        self.save()
        return True

    def start(self, processes: int = 1) -> None:
        """Make the signatures in processes of their own; `progress` takes up what they have finished.

        A site like the demo one, nine stations and 350 faults and places, takes about five minutes of one processor
        (measured; `tests/bench/bench_practice.py` measures it anew).
        """
        if self._workers:
            return
        missing = [_key(*each) for each in self._missing()]
        context = get_context("spawn")
        for n in range(min(processes, len(missing))):
            here, there = context.Pipe(duplex=False)
            arguments = (self.installation, missing[n::processes], there)
            process = context.Process(target=_work, args=arguments, daemon=True)
            process.start()
            there.close()
            self._workers.append((process, here))

    def stop(self) -> None:
        """End the processes in the background and keep what they have made."""
        self._take_up()
        for process, pipe in self._workers:
            process.terminate()
            process.join()
            pipe.close()
        self._workers = []
        self.save()

    def _missing(self) -> Iterator[tuple[Chosen, str]]:
        return ((chosen, part) for part in PARTS for chosen in self.all if _key(chosen, part) not in self._parts)

    def _sound(self, part: str) -> Part:
        if part not in self._healthy:
            self._healthy[part] = signature((self.installation,), part)
        return self._healthy[part]

    def _made(self, chosen: Chosen, part: str, until: float = math.inf) -> Part | None:
        """A part, made now if need be; None if the time is up. The sizes that were run are kept for the next time."""
        key = _key(chosen, part)
        found = self._parts.get(key)
        if found is None:
            if time.monotonic() > until:
                return None
            begun = self._begun.setdefault(key, [])
            for each in variants(self.installation, chosen)[len(begun) :]:
                if time.monotonic() > until:
                    return None
                begun.append(of_one_size(each, part))
            found = self._parts[key] = differing(of_all_sizes(begun), self._sound(part))
            del self._begun[key]
            self._unsaved += 1
        return found

    def _take_up(self) -> None:
        for process, pipe in tuple(self._workers):
            try:
                while pipe.poll():
                    key, made = pipe.recv()
                    self._parts.setdefault(key, differing(made, self._sound(key[2])))
                    self._unsaved += 1
            except (EOFError, OSError):  # it is done, or somebody has ended it
                pipe.close()
                process.join()
                self._workers.remove((process, pipe))
                if not self._workers:
                    self.save()
        if self._unsaved >= _SAVE_EVERY:
            self.save()

    # -- the disk -----------------------------------------------------------------------------------------------------

    @property
    def text(self) -> str:
        """What is made, in the form in which it is kept."""
        keys = [_key(chosen, part) for chosen in self.all for part in PARTS]
        parts = {key: self._parts[key] for key in keys if key in self._parts}
        healthy = {part: self._sound(part) for part in PARTS if any(key[2] == part for key in parts)}
        return signature_file.to_text(Kept(self.stamp, healthy, parts))

    def save(self) -> bool:
        """Write what is made to the disk and delete what other versions of the workbook have left there.

        False if that is not possible, which does no harm.
        """
        if self._path is None or not self._unsaved:
            return self._path is not None
        beside = self._path.with_suffix(f".{os.getpid()}")
        try:
            beside.write_bytes(gzip.compress(self.text.encode(), mtime=0))
            beside.replace(self._path)
        except OSError:
            with suppress(OSError):
                beside.unlink()
            return False
        self._unsaved = 0
        for file in self._path.parent.iterdir():
            ours = _OURS.fullmatch(file.name)
            if ours and ours[1] != of_code():
                with suppress(OSError):  # somebody else may hold it, or has deleted it
                    file.unlink()
        return True

    def _load(self) -> None:
        if self._path is None:
            return
        for path in (SHIPPED, self._path):
            with suppress(OSError, EOFError, zlib.error, ValueError):  # not there, or damaged: it is made anew
                octets = path.read_bytes()
                text = (gzip.decompress(octets) if path is self._path else octets).decode()
                if found := signature_file.from_text(text, self.stamp):
                    self._healthy, self._parts = dict(found.healthy), dict(found.parts)
                    return


def _key(chosen: Chosen, part: str) -> Key:
    return chosen.fault.key, chosen.place.words, part


def _work(installation: Installation, missing: Sequence[Key], pipe: Connection) -> None:
    """What a process in the background does; it ends with whoever has started it."""
    if hasattr(os, "nice"):
        os.nice(10)
    every = {(chosen.fault.key, chosen.place.words): chosen for chosen in possible(installation)}
    try:
        for fault, place, part in missing:
            several = variants(installation, every[fault, place])
            pipe.send(((fault, place, part), signature(several, part)))
    except (BrokenPipeError, KeyboardInterrupt):
        return
    finally:
        pipe.close()
