"""My networks: the plans that a user keeps, each whole in one file in the user's own folder, and the demo site.

A file is written beside its place and then put there in one step, so it is whole or not there at all, and a kernel
that is killed leaves the one before. A name that is taken is not overwritten unless that is asked for. So two notebooks
at once lose nothing, and an update of the workbook touches none of it.
"""

from __future__ import annotations

import io
import os
import unicodedata
import uuid
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from helpers.errors import Unknown, Unreadable, WorkbookError
from helpers.facts import DATA
from helpers.files import FOLDER_VARIABLE, make_own_folder, own_folder, read_bounded
from helpers.plan.columns import TABLES
from helpers.plan.model import Network, Plan
from helpers.plan.read import network_names, read_plan
from helpers.plan.record import zipped
from helpers.plan.save import plan_files

DEMO_SITE = "Saltmarsh Mill"
DEMOS = {DEMO_SITE: "saltmarsh-mill", "the Mill extended": "saltmarsh-mill-extended"}
ENDING = ".zip"
MOST_BYTES = 5_000_000  # of one kept file, unpacked; a full plan has 20 kB, a device description up to 100 kB

LONGEST_NAME = 60  # letters
_FORBIDDEN = '\\/:*?"<>|'  # no file may bear them on one system or another
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
_CHOSEN = "chosen.txt"

# Shows how far something is: the share that is done, and what is being done.
Progress = Callable[[float, str], object]


@dataclass(frozen=True)
class Offer:
    """One network to choose from: its plan, its name there, and the words that a list shows."""

    plan: str
    network: str
    words: str


class MyNetworks:
    """The plans kept in one folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def names(self) -> tuple[str, ...]:
        """The names of all kept plans, also of one that can't be read; none while the folder can't be looked into."""
        try:
            files = [file for file in self.folder.iterdir() if file.suffix == ENDING and file.name[0] != "."]
        except OSError:
            return ()
        return tuple(sorted((unicodedata.normalize("NFC", file.stem) for file in files), key=_key))

    def read(self, name: str) -> Plan:
        """A kept plan; `Unknown` if there is none of this name, `Unreadable` if its file is damaged."""
        return replace(_kept(*self._stamp(name)), name=self._own(name))

    def file(self, name: str) -> bytes:
        """The file of a kept plan, to take away: its tables, and the device descriptions beside them."""
        return read_bounded(self._path(name), MOST_BYTES)

    def save(self, name: str, plan: Plan, *, overwrite: bool = False) -> str:
        """Keep a plan under a name; gives the name as it is kept.

        Raises `Unreadable` for a name that no file can have, or that is taken while `overwrite` is not given, and for a
        plan that could not be read again; `WorkbookError` if the folder can't be written.
        """
        name = checked_name(name)
        if (taken := self._own(name)) and not overwrite:
            raise _taken(taken)
        files = kept_files(plan)
        _readable(name, files)
        content = zipped(files)
        if len(content) > MOST_BYTES:
            raise Unreadable(f"{name!r} has {len(content) / 1e6:.1f} MB; allowed are {MOST_BYTES / 1e6:.0f} MB.")
        with self._writing():
            beside = self.folder / f".{uuid.uuid4().hex}.part"
            try:
                _write(beside, content)
                _put(beside, self.folder / f"{taken or name}{ENDING}", overwrite=overwrite)
            finally:
                beside.unlink(missing_ok=True)
        return taken or name

    def rename(self, name: str, new: str) -> str:
        """Give a kept plan another name, which no other may have; gives the name as it is kept."""
        path, new = self._path(name), checked_name(new)
        taken = self._own(new)
        if taken and taken != path.stem:
            raise _taken(taken)
        chosen = self.chosen()
        with self._writing():
            if taken:  # the same name in other capitals
                path.rename(path.with_name(new + ENDING))
            else:
                _put(path, path.with_name(new + ENDING), overwrite=False)
        if chosen == path.stem:
            self.choose(new)
        return new

    def remove(self, name: str) -> None:
        """Delete a kept plan for good."""
        with self._writing():
            self._path(name).unlink()

    def choose(self, name: str) -> None:
        """Make a kept plan, or a demo, the one that the what-if pages begin with."""
        with self._writing():
            beside = self.folder / f".{uuid.uuid4().hex}.part"
            _write(beside, name.encode())
            beside.replace(self.folder / _CHOSEN)

    def chosen(self) -> str:
        """The plan that the what-if pages begin with; the demo site while none is chosen, or it is there no more."""
        try:
            name = (self.folder / _CHOSEN).read_bytes()[:1000].decode(errors="replace")
        except OSError:
            return DEMO_SITE
        return name if name in DEMOS else self._own(name) or DEMO_SITE

    def offers(self) -> tuple[Offer, ...]:
        """Every network there is to choose from: those of the demo plans, then one's own."""
        demos = (Offer(name, network.name, name) for name in DEMOS for network in demo_plan(name))
        return (*_told_apart(demos, " (invented)"), *_told_apart(o for name in self.names() for o in self._offer(name)))

    def network(self, plan: str, network: str = "") -> Network:
        """A network of a demo plan or of a kept one; without a name, or with one that is gone, the first."""
        networks = self.plan(plan).networks
        return next((each for each in networks if each.name == network), networks[0])

    def plan(self, name: str) -> Plan:
        """A demo plan or a kept one, by its name."""
        return demo_plan(name) if name in DEMOS else self.read(name)

    def _offer(self, name: str) -> Iterator[Offer]:
        try:
            networks = _networks_in(*self._stamp(name))
        except WorkbookError:
            networks = ("",)
        for network in networks:
            yield Offer(name, network, name if network else f"{name} (can't be read)")

    def _own(self, name: str) -> str:
        """The kept name that is the same but for capitals and spaces; empty if there is none."""
        return next((kept for kept in self.names() if _key(kept) == _key(name)), "")

    def _path(self, name: str) -> Path:
        kept = self._own(name)
        if not kept:
            known = ", ".join(self.names()) or "none yet"
            raise Unknown(f"There is no network {name!r} of your own; kept are: {known}.")
        path = self.folder / f"{kept}{ENDING}"
        return path if path.exists() else self.folder / f"{unicodedata.normalize('NFD', kept)}{ENDING}"

    def _stamp(self, name: str) -> tuple[Path, int, int]:
        """The file, and what changes with it."""
        path = self._path(name)
        try:
            stat = path.stat()
        except OSError as error:
            raise Unreadable(f"Your network {name!r} can't be read: {error.strerror}.") from None
        return path, stat.st_mtime_ns, stat.st_size

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """The folder is there, and what the system refuses becomes a sentence."""
        try:
            make_own_folder(self.folder.parent)
            self.folder.mkdir(exist_ok=True)
            yield
        except OSError as error:
            if isinstance(error, FileExistsError) and error.filename2:
                raise _taken(Path(error.filename2).stem) from None
            raise WorkbookError(
                f"Your networks in {self.folder} can't be changed ({error.strerror}). The folder must exist and be "
                f"yours to write, with room on the disk; the variable {FOLDER_VARIABLE} can name another."
            ) from None


def my_networks() -> MyNetworks:
    """The user's own networks, beside the user's progress."""
    return MyNetworks(own_folder() / "networks")


@lru_cache(maxsize=4)
def demo_plan(name: str = DEMO_SITE) -> Plan:
    """An invented plan of the workbook, by its name; the demo site if none is given."""
    return replace(read_plan(DATA / "demo" / DEMOS[name]), name=name)


def demo_network() -> Network:
    """The one network of the demo site, all in order."""
    return demo_plan().networks[0]


def plan_named(named: str) -> Plan:
    """The plan that somebody names: a kept network, a demo plan, or a path to a folder, workbook or kept file.

    A kept name goes before a path; write `./name` for a folder of the same name.
    Raises `Unknown` for what is none of them, else what `read_plan` raises.
    """
    mine = my_networks()
    kept = next((name for name in (*mine.names(), *DEMOS) if _key(name) == _key(named)), "")
    if kept:
        return mine.plan(kept)
    path = Path(named)
    if not path.exists():
        known = ", ".join((*mine.names(), *DEMOS))
        raise Unknown(f"{named[:200]!r} is not there as a folder or file; networks by name are: {known}.")
    if path.suffix.lower() == ENDING:
        return replace(read_plan(unpacked(path.name, read_bounded(path, MOST_BYTES))), name=path.stem)
    return read_plan(path)


def kept_files(plan: Plan) -> dict[str, bytes]:
    """The files of a plan by name: its tables, and the device descriptions beside them."""
    descriptions = {file.name: file.content for network in plan for file in network.descriptions}
    return plan_files(plan, workbook=False) | descriptions


def unpacked(name: str, content: bytes) -> dict[str, bytes]:
    """The files in a kept or taken-away one; `Unreadable` if it is damaged, or far larger than any plan."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            size = sum(part.file_size for part in packed.infolist())
            if size > MOST_BYTES:
                raise Unreadable(f"{name!r} unpacks to {size / 1e6:.1f} MB; allowed are {MOST_BYTES / 1e6:.0f} MB.")
            return {part.filename: packed.read(part) for part in packed.infolist() if not part.is_dir()}
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError) as error:
        if isinstance(error, Unreadable):
            raise
        raise Unreadable(f"{name!r} is damaged ({error}).") from None


def checked_name(name: str) -> str:
    """The name in one line, if a file can bear it on every system; else `Unreadable`, which says why."""
    name = " ".join(unicodedata.normalize("NFC", name).split())
    if not name or len(name) > LONGEST_NAME or len(name.encode(errors="replace")) > 3 * LONGEST_NAME:
        raise Unreadable(f"a network's name has 1 to {LONGEST_NAME} letters; this one has {len(name)}.")
    bad = [letter for letter in name if letter in _FORBIDDEN or not letter.isprintable()]
    if bad:
        raise Unreadable(f"{name!r}: a network's name may not hold {bad[0]!r}, for it becomes the name of a file.")
    if name[0] == "." or name[-1] == "." or name.partition(".")[0].casefold().strip() in _DEVICES:
        raise Unreadable(f"{name!r}: some computers can't have a file of this name; choose another.")
    if _key(name) in map(_key, DEMOS):
        raise Unreadable(f"{name!r} is the name of a demo plan; choose another.")
    return name


def _key(name: str) -> str:
    """A name without the differences that are slips of the hand."""
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def _told_apart(offers: Iterator[Offer], note: str = "") -> Iterator[Offer]:
    """The offers, each with the network's name where its plan holds several."""
    listed = list(offers)
    plans = [offer.plan for offer in listed]
    for offer in listed:
        several = plans.count(offer.plan) > 1
        yield replace(offer, words=f"{offer.words}{f': {offer.network}' if several else ''}{note}")


def _taken(name: str) -> Unreadable:
    return Unreadable(f"You keep a network {name!r} already. Choose another name, or say that it is to be replaced.")


def _readable(name: str, files: Mapping[str, bytes]) -> None:
    """Raise `Unreadable` for a plan whose files can't be read as one: better now than when it is needed."""
    try:
        read_plan(files)
    except WorkbookError as error:
        raise Unreadable(f"{name!r} can't be kept as it is: {str(error).partition(chr(10))[0]}") from None


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())  # so that after a power cut the name does not stand for an empty file


def _put(beside: Path, place: Path, *, overwrite: bool) -> None:
    """Put a whole file in its place in one step; `FileExistsError` if something is there that may not be replaced."""
    if overwrite:
        beside.replace(place)
        return
    try:
        os.link(beside, place)  # the one step that never replaces anything
    except FileExistsError:
        raise
    except OSError:  # a stick without links
        if place.exists():
            raise FileExistsError(0, "taken", str(beside), None, str(place)) from None
        beside.rename(place)
    else:
        beside.unlink()


@lru_cache(maxsize=16)
def _kept(path: Path, *_: int) -> Plan:
    try:
        return read_plan(_tables(path))
    except WorkbookError as error:
        raise _unusable(path, error) from None


@lru_cache(maxsize=64)
def _networks_in(path: Path, *_: int) -> tuple[str, ...]:
    """The names of the networks in a kept plan, without reading all of it."""
    return network_names(_tables(path))


def _tables(path: Path) -> Mapping[str, bytes]:
    files = unpacked(path.name, read_bounded(path, MOST_BYTES))
    if not any(f"{table}.csv" in files for table in TABLES):
        raise Unreadable(f"{path.name!r} holds no tables of a plan")
    return files


def _unusable(path: Path, error: WorkbookError) -> Unreadable:
    why = str(error).partition("\n")[0].rstrip(".")
    return Unreadable(
        f"Your network {path.stem!r} can't be read: {why}. Its file is left as it is, in {path.parent}. Your other "
        "networks are not touched. Remove it, or keep it anew from your own copy of the plan."
    )
