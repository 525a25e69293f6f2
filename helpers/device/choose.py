"""Choosing a data format: the shortest one that carries what is needed, each direction on its own.

A format carries a need if the signal stands in one of its fixed words or if enough of its free words are
left for it. A signal of 32 bits takes two words. Setpoints and actual values are counted apart: room to
spare in one direction does not help the other.

Free words are assigned by the profile parameters 915 (setpoints) and 916 (actual values): lists with one
signal number for each process data word.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from helpers.device import formats as data_formats
from helpers.device import signals
from helpers.device.formats import DataFormat
from helpers.device.signals import Signal

NOT_ASSIGNED = 0  # the signal number of a word that carries nothing (data/signal_ranges.csv)


@dataclass(frozen=True)
class Assignment:
    """One process data word and the signal in it.

    `parameter` is the number of the list (915 or 916), `pzd` the place in it counted from 1. Some drives
    count the elements of the list from 0: then the element is `pzd` − 1. `number` is None where our
    sources give no number; take it from the drive's manual. `half` is `high` or `low` for a signal of
    two words; both elements then name the same signal. `fixed` words can't be changed.
    """

    parameter: int
    pzd: int
    signal: str
    number: int | None
    half: str
    fixed: bool


@dataclass(frozen=True)
class FormatRow:
    """One row of the table: a format held against the needs.

    `missing_out`, `missing_in` name the signals that find no word; `missing_words_out`, `missing_words_in`
    say how many words are short. `extra_bytes` is what the format costs more than the choice, in both
    directions together and in each cycle; negative if it is shorter; None if nothing fits.
    """

    format: DataFormat
    missing_out: tuple[str, ...]
    missing_in: tuple[str, ...]
    missing_words_out: int
    missing_words_in: int
    missing_parameters: bool
    spare_words_out: int
    spare_words_in: int
    extra_bytes: int | None = None

    @property
    def fits_out(self) -> bool:
        """True if everything for the drive is carried."""
        return not self.missing_out and not self.missing_parameters

    @property
    def fits_in(self) -> bool:
        """True if everything from the drive is carried."""
        return not self.missing_in and not self.missing_parameters

    @property
    def fits(self) -> bool:
        """True if the format carries every need."""
        return self.fits_out and self.fits_in

    @property
    def missing(self) -> str:
        """What is missing, in words; empty if nothing is.

        The number of words comes first, because that is what a longer format must add.
        """
        parts = ["parameter channel"] if self.missing_parameters else []
        for name, names, count in (
            ("out", self.missing_out, self.missing_words_out),
            ("in", self.missing_in, self.missing_words_in),
        ):
            if names:
                parts.append(f"{count} word{'s' if count > 1 else ''} {name} for {', '.join(names)}")
        return "; ".join(parts)

    @property
    def cells(self) -> dict[str, str | int]:
        """The row for a table: format, fits, missing, words and bytes each way, cost, source."""
        return {
            "format": self.format.name,
            "fits": "fits" if self.fits else "does not fit",
            "missing": self.missing,
            "words out": len(self.format.words_out),
            "words in": len(self.format.words_in),
            "bytes out": self.format.bytes_out,
            "bytes in": self.format.bytes_in,
            "bytes both": self.format.bytes_both,
            "more than the choice": "" if self.extra_bytes is None else self.extra_bytes,
            "source": self.format.cited,
        }


@dataclass(frozen=True)
class FormatChoice:
    """The result: the shortest format that carries the needs, and every other beside it.

    `rows` are all formats, the shortest first. `best` is None if no format carries everything.
    `equally_short` are other formats that fit and take as many bytes. `shortest_out`, `shortest_in` look at
    one direction alone: the formats with the fewest words that way which carry what goes that way.
    """

    needs_out: tuple[Signal, ...]
    needs_in: tuple[Signal, ...]
    parameters: bool
    rows: tuple[FormatRow, ...]
    best: FormatRow | None
    equally_short: tuple[FormatRow, ...]
    shortest_out: tuple[FormatRow, ...]
    shortest_in: tuple[FormatRow, ...]

    @property
    def shorter(self) -> tuple[FormatRow, ...]:
        """Formats that take fewer bytes than the choice; each lacks something."""
        return tuple(row for row in self.rows if row.extra_bytes is not None and row.extra_bytes < 0)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The result and its reasons, one sentence each, for a person."""
        if self.best is None:
            return (
                f"None of the {len(self.rows)} formats carries everything.",
                *(f"{row.format.name} lacks {row.missing}." for row in self.rows),
            )
        best = self.best.format
        told = [
            f"{best.name} is the shortest that carries everything: "
            f"{best.bytes_out} bytes out and {best.bytes_in} bytes in, in each cycle.",
        ]
        told += [f"{row.format.name} is shorter, but lacks {row.missing}." for row in self.shorter]
        if self.equally_short:
            others = ", ".join(row.format.name for row in self.equally_short)
            told.append(
                f"Equally short: {others}. Bytes don't decide between them: take the one that the drive and the "
                f"controller both have; here the first of the list is named."
            )
        for direction, alone in (("out", self.shortest_out), ("in", self.shortest_in)):
            if alone and best not in [row.format for row in alone]:
                names = ", ".join(row.format.name for row in alone)
                told.append(f"For the words {direction} alone, {names} would be enough; the other direction decides.")
        if best.free_words("out") + best.free_words("in"):
            told.append(
                f"Of its free words, {self.best.spare_words_out} out and {self.best.spare_words_in} in are left over."
            )
        else:
            told.append("All its words are fixed: nothing can be assigned to them.")
        return tuple(told)


def choose(
    needs: Iterable[Signal | str | int],
    *,
    parameters: bool = False,
    formats: Iterable[DataFormat] | None = None,
) -> FormatChoice:
    """The shortest format that carries a list of needs, each direction on its own.

    Parameters: needs, signals, or their names or numbers; each signal knows its direction. The same need
    named twice counts once. parameters, True if parameters must be read or written in the cyclic data
    (drives with acyclic services can do without). formats, those the drive offers; every known one if not
    given.
    Return: a `FormatChoice`. The shortest is the one with the fewest bytes of both directions together; among
    equals the first of the list.
    Errors: `Unknown` for a signal that is not in the tables; make it with `signals.own_signal`.
    Validity: process data and the parameter channel of PPO 1 to 5, standard telegrams and formats built
    of words. Whether a drive lets a signal stand in a free word is in its manual.
    Source: layouts as cited with each format.

    >>> found = choose(["STW1", "NSOLL_A", "ZSW1", "NIST_A", "CURRENT"], formats=data_formats.ppo_types())
    >>> found.best.format.name
    'PPO 4'
    >>> found.sentences[1]
    'PPO 3 is shorter, but lacks 1 word in for CURRENT.'
    """
    wanted = tuple(dict.fromkeys(one if isinstance(one, Signal) else signals.find(one) for one in needs))
    out = tuple(one for one in wanted if one.direction == "out")
    into = tuple(one for one in wanted if one.direction == "in")
    offered = data_formats.all_formats() if formats is None else tuple(formats)

    rows = [_compare(one, out, into, parameters) for one in offered]
    rows.sort(key=lambda row: row.format.bytes_both)  # stable: among equals the order of the list stays
    best = next((row for row in rows if row.fits), None)
    if best is not None:
        cost = best.format.bytes_both
        rows = [replace(row, extra_bytes=row.format.bytes_both - cost) for row in rows]
        best = next(row for row in rows if row.fits)
    return FormatChoice(
        out,
        into,
        parameters,
        tuple(rows),
        best,
        tuple(row for row in rows if best and row.fits and row.extra_bytes == 0 and row is not best),
        _shortest([row for row in rows if row.fits_out], "out"),
        _shortest([row for row in rows if row.fits_in], "in"),
    )


def mapping(chosen: DataFormat, needs: Iterable[Signal | str | int]) -> tuple[Assignment, ...]:
    """Which signal stands in which process data word: the contents of profile parameters 915 and 916.

    Parameters: chosen, a format; needs, as in `choose`. Needs that find no word are left out; `choose`
    tells which. Free words go to the needs in the order in which they are named; words that are left get
    signal number 0, not assigned.
    Return: one `Assignment` for each process data word, out first. The words of a standard telegram, and
    the first two of a PPO, are fixed and listed for completeness.
    Validity: that both words of a 32-bit signal bear the same number is from memory; see the manual.
    Source: Danfoss Vacon 100 PROFIBUS manual p.25; ABB RETA-02 manual p.93 (`data/signal_lists.csv`).

    >>> for word in mapping(data_formats.by_name("PPO 4"), ["STW1", "NSOLL_A", "ZSW1", "NIST_A", "CURRENT"])[6:9]:
    ...     print(word.parameter, word.pzd, word.signal, word.number, word.fixed)
    916 1 ZSW1 2 True
    916 2 NIST_A 6 True
    916 3 CURRENT 140 False
    """
    wanted = tuple(dict.fromkeys(one if isinstance(one, Signal) else signals.find(one) for one in needs))
    listed: list[Assignment] = []
    for direction in signals.DIRECTIONS:
        placed = _placed(chosen, direction, wanted)
        free = iter([(one, name) for one in placed for name in one.word_names])
        parameter = signals.list_parameter(direction)
        for pzd, word in enumerate(chosen.process_words(direction), 1):
            if word.kind == "fixed":
                known = signals.find(word.signal)
                listed.append(Assignment(parameter, pzd, known.name, known.number, _half(word.name, known), True))
            else:
                one, name = next(free, (None, ""))
                if one is None:
                    listed.append(Assignment(parameter, pzd, "", NOT_ASSIGNED, "", False))
                else:
                    listed.append(Assignment(parameter, pzd, one.name, one.number, _half(name, one), False))
    return tuple(listed)


def _compare(one: DataFormat, out: tuple[Signal, ...], into: tuple[Signal, ...], parameters: bool) -> FormatRow:
    missing, short, spare = {}, {}, {}
    for direction, wanted in (("out", out), ("in", into)):
        to_place = _not_fixed(one, direction, wanted)
        placed = _placed(one, direction, wanted)
        free = one.free_words(direction)
        missing[direction] = tuple(signal.name for signal in to_place if signal not in placed)
        short[direction] = max(0, sum(signal.words for signal in to_place) - free)
        spare[direction] = free - sum(signal.words for signal in placed)
    return FormatRow(
        one,
        missing["out"],
        missing["in"],
        short["out"],
        short["in"],
        parameters and not one.parameter_channel,
        spare["out"],
        spare["in"],
    )


def _not_fixed(one: DataFormat, direction: str, wanted: Iterable[Signal]) -> list[Signal]:
    """The needs of one direction that no fixed word carries."""
    fixed = {word.signal for word in one.words(direction) if word.kind == "fixed"}
    return [signal for signal in wanted if signal.direction == direction and signal.name not in fixed]


def _placed(one: DataFormat, direction: str, wanted: Iterable[Signal]) -> list[Signal]:
    """The needs that the free words take, in the order named; one too long is passed over, not cut."""
    left, placed = one.free_words(direction), []
    for signal in _not_fixed(one, direction, wanted):
        if signal.words <= left:
            placed.append(signal)
            left -= signal.words
    return placed


def _shortest(rows: list[FormatRow], direction: str) -> tuple[FormatRow, ...]:
    fewest = min((len(row.format.words(direction)) for row in rows), default=0)
    return tuple(row for row in rows if len(row.format.words(direction)) == fewest)


def _half(word_name: str, signal: Signal) -> str:
    return "" if signal.words == 1 else word_name.removeprefix(signal.name).strip()
