"""Data formats word by word: PPO 1 to 5, the standard telegrams, and the invented drive's own formats.

Direction is as the controller sees it: words *out* go from the controller to the drive, words *in* from
the drive to the controller. Each word has 16 bits, that is 2 bytes.

A word is one of three kinds. A *fixed* word always carries the same signal. A *free* word carries the
signal that a list in the drive assigns to it (profile parameters 915 and 916). A *parameter* word is
part of a parameter channel. In PPO 1 to 5 the process data words from the third on are free; the words
of a standard telegram are all fixed. The second process data word of a PPO is the main setpoint or main
actual value; it is listed as speed, NSOLL_A and NIST_A.

PPO 6 and above are no part of the profile: makers give these numbers to different formats. They are in
`vendor_claims`, not among the formats.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache

from helpers import facts
from helpers.device import identifiers, signals
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError

BYTES_PER_WORD = 2


@dataclass(frozen=True)
class FormatWord:
    """One word of a format: its name, its kind (`fixed`, `free` or `parameter`) and, if fixed, its signal."""

    name: str
    kind: str
    signal: str = ""


@dataclass(frozen=True)
class DataFormat:
    """A data format, word by word in each direction.

    `family` is `PPO`, `standard telegram` or `device`, or empty where only the length is known. `identifiers` are the
    configuration octets.
    `makers` is "2+" or "1": how many makers print it; empty if it is from memory or invented.
    """

    name: str
    family: str
    words_out: tuple[FormatWord, ...]
    words_in: tuple[FormatWord, ...]
    identifiers: bytes
    remark: str
    makers: str
    source: str
    standing: str

    @property
    def parameter_channel(self) -> bool:
        """True if parameters can be read and written in the cyclic data."""
        return any(word.kind == "parameter" for word in self.words_out)

    @property
    def bytes_out(self) -> int:
        """Bytes from the controller to the drive in each cycle."""
        return BYTES_PER_WORD * len(self.words_out)

    @property
    def bytes_in(self) -> int:
        """Bytes from the drive to the controller in each cycle."""
        return BYTES_PER_WORD * len(self.words_in)

    @property
    def bytes_both(self) -> int:
        """Bytes of both directions together: what the format costs in each cycle."""
        return self.bytes_out + self.bytes_in

    @property
    def cited(self) -> str:
        """Source and standing in one text."""
        return f"{self.source} ({self.standing})" if self.source else self.standing

    def words(self, direction: str) -> tuple[FormatWord, ...]:
        """The words of one direction, `out` or `in`."""
        return self.words_out if direction == "out" else self.words_in

    def process_words(self, direction: str) -> tuple[FormatWord, ...]:
        """The words of one direction without the parameter channel; the first of them is PZD 1."""
        return tuple(word for word in self.words(direction) if word.kind != "parameter")

    def free_words(self, direction: str) -> int:
        """How many words of one direction can be assigned."""
        return sum(word.kind == "free" for word in self.words(direction))


@dataclass(frozen=True)
class MakerClaim:
    """What one source says of a PPO number that the profile does not have, or says against the others."""

    name: str
    identifiers: bytes
    total_bytes: int
    remark: str
    source: str
    standing: str


@cache
def ppo_types() -> tuple[DataFormat, ...]:
    """PPO 1 to 5 (`data/ppo_types.csv`).

    >>> [(one.name, one.bytes_out) for one in ppo_types()]
    [('PPO 1', 12), ('PPO 2', 20), ('PPO 3', 4), ('PPO 4', 12), ('PPO 5', 28)]
    """
    return tuple(_in_one_row(row, f"PPO {row['type']}", "PPO") for row in facts.where("ppo_types", use="profile"))


@cache
def demo_formats() -> tuple[DataFormat, ...]:
    """The formats of the invented Saltmarsh Mill drive (`data/demo/device_formats.csv`)."""
    return tuple(_in_one_row(row, row["name"], "device") for row in facts.rows("demo/device_formats"))


@cache
def standard_telegrams() -> tuple[DataFormat, ...]:
    """The profile's standard telegrams (`data/standard_telegrams.csv`, `data/telegram_sizes.csv`).

    Identifiers of telegrams 1 and 2 are published; those of the others are built after the same pattern. The
    standing is the weaker one of size and words.

    >>> [word.name for word in by_name("standard telegram 2").words_out]
    ['STW1', 'NSOLL_B high', 'NSOLL_B low', 'STW2']
    """
    formats = []
    for row in facts.rows("telegram_sizes"):
        words = facts.where("standard_telegrams", telegram=row["telegram"])
        out, into = (
            tuple(
                FormatWord(f"{word['signal']} {word['half']}".strip(), "fixed", word["signal"])
                for word in words
                if word["direction"] == direction
            )
            for direction in ("out", "in")
        )
        one = _format(row, f"standard telegram {row['telegram']}", "standard telegram", out, into)
        formats.append(replace(one, standing=max([row.standing, words[0].standing], key=facts.STANDINGS.index)))
    return tuple(formats)


def all_formats() -> tuple[DataFormat, ...]:
    """PPO types, standard telegrams and the demo drive's own formats, in this order."""
    return ppo_types() + standard_telegrams() + demo_formats()


def by_name(name: str) -> DataFormat:
    """The format with this name; spaces and capitals don't matter, `ST 1` and `telegram 1` are understood.

    Errors: `Unknown`, with the list of names; for PPO 6 and above it says why they are missing.

    >>> by_name("ppo2").name, by_name("ST1").name, by_name("mill 2/3").name
    ('PPO 2', 'standard telegram 1', 'Mill 2/3')
    """
    asked = re.sub(r"^(st|telegram|standardtelegram)(?=\d)", "standardtelegram", _key(name))
    for one in all_formats():
        if _key(one.name) == asked:
            return one
    known = ", ".join(one.name for one in all_formats())
    if asked in {_key(claim.name) for claim in vendor_claims()}:
        makers = "; ".join(
            f"{c.identifiers.hex(' ').upper()}, {c.source}" for c in vendor_claims() if _key(c.name) == asked
        )
        raise Unknown(
            f"data format is {name!r}; the profile ends at PPO 5, and makers differ ({makers}). Known are {known}."
        )
    raise Unknown(f"data format is {name!r}; known are {known}.")


@cache
def configuration(text: str) -> identifiers.Configuration:
    """What a format means as people write it: a name, configuration identifiers, or bytes out/in.

    Bytes alone say no identifiers; `only_bytes` tells that. The simplest ones of that length then stand for them.
    Errors: `Unknown` if it is none of these, and for PPO 6 and above; `Unreadable` for identifiers that can't be, and
    for those that could be decimal numbers of bytes as well: these have to say that they are hexadecimal.

    >>> [configuration(text).octets.hex(" ") for text in ("PPO 4", "F3 F5", "16#F3 16#F5", "12/2 bytes")]
    ['f5', 'f3 f5', 'f3 f5', 'c0 8b 81']
    """
    if sizes := only_bytes(text):
        return _of_bytes(*sizes)
    try:
        return identifiers.decode(by_name(text).identifiers)
    except Unknown:
        if _key(text) in {_key(claim.name) for claim in vendor_claims()}:
            raise
    try:
        octets = identifiers.octets_from_text(text)
    except Unreadable:
        raise Unknown(
            f"{text.strip()[:40]!r} is no format; write its name as in PPO 4, its bytes out/in as in 12/16 bytes, or "
            "its configuration identifiers as in F3 F1."
        ) from None
    if re.fullmatch(r"[\d\s]+", text):
        raise Unreadable(
            f"{text.strip()[:40]!r} could be identifiers or numbers of bytes; write identifiers as "
            f"{identifiers.as_written(octets[:4])}, or bytes out/in as in 12/16 bytes."
        )
    return identifiers.decode(octets)


@cache
def known_configuration(text: str) -> identifiers.Configuration | None:
    """What a format means, as `configuration` reads it; None if it means nothing.

    >>> known_configuration("PPO 4").octets.hex(), known_configuration("long format")
    ('f5', None)
    """
    try:
        return configuration(text)
    except WorkbookError:
        return None


def only_bytes(text: str) -> tuple[int, int] | None:
    """Bytes out and in, if a format is written so; None if it is not.

    >>> only_bytes("12 / 16"), only_bytes("0/2 bytes"), only_bytes("Mill 2/3")
    ((12, 16), (0, 2), None)
    """
    found = re.fullmatch(r"\s*(\d{1,4})\s*/\s*(\d{1,4})(?:\s*bytes?)?\s*", text)
    return (int(found[1]), int(found[2])) if found else None


def _of_bytes(out: int, into: int) -> identifiers.Configuration:
    most = identifiers.length_limit("length")
    listed: list[identifiers.Identifier] = []
    while out > 0 or into > 0 or not listed:
        output, input = (identifiers.DataArea(min(left, most), "byte") if left > 0 else None for left in (out, into))
        listed.append(identifiers.shortest(output, input))
        out, into = out - most, into - most
    return identifiers.decode(identifiers.encode(listed))


def spelled(text: str) -> str:
    """A format in one spelling, whichever way it was written. Raises as `configuration`.

    >>> [spelled(text) for text in ("ppo4", "f3F5", "f3 f4", "12 / 16")]
    ['PPO 4', 'PPO 2', '16#F3 16#F4', '12/16 bytes']
    """
    if sizes := only_bytes(text):
        return f"{sizes[0]}/{sizes[1]} bytes"
    octets = configuration(text).octets
    known = by_identifiers(octets)
    return known[0].name if known else " ".join(f"16#{octet:02X}" for octet in octets)


@cache
def in_words(text: str) -> DataFormat:
    """A format word by word. Where only its length is known, all its words are free: lists in the drive say the rest.

    Raises as `configuration`; `OutOfRange` for an odd number of bytes.

    >>> in_words("F3 F5").name, [word.name for word in in_words("4/2 bytes").words_out]
    ('PPO 2', ['PZD1', 'PZD2'])
    """
    means = configuration(text)
    if known := by_identifiers(means.octets):
        return known[0]
    for name, length in (("output", means.bytes_out), ("input", means.bytes_in)):
        if length % BYTES_PER_WORD:
            raise OutOfRange(f"{name} is {length} bytes; a drive exchanges whole words of {BYTES_PER_WORD} bytes.")
    out, into = (
        tuple(FormatWord(f"PZD{n}", "free") for n in range(1, length // BYTES_PER_WORD + 1))
        for length in (means.bytes_out, means.bytes_in)
    )
    return DataFormat(spelled(text), "", out, into, means.octets, "", "", "", "memory")


def by_identifiers(octets: bytes) -> tuple[DataFormat, ...]:
    """The formats that have exactly these configuration octets; empty if none has.

    >>> [one.name for one in by_identifiers(bytes.fromhex("F3 F9"))]
    ['PPO 5']
    """
    return tuple(one for one in all_formats() if one.identifiers == octets)


@cache
def vendor_claims() -> tuple[MakerClaim, ...]:
    """What makers call PPO 6 and above. One number can mean different formats: the octets decide."""
    return _claims("vendor")


def _claims(use: str) -> tuple[MakerClaim, ...]:
    return tuple(
        MakerClaim(
            f"PPO {row['type']}",
            bytes.fromhex(row["identifiers"]),
            row.whole("total_bytes"),
            row["remark"],
            row.source,
            row.standing,
        )
        for row in facts.where("ppo_types", use=use)
    )


def _in_one_row(row: facts.Fact, name: str, family: str) -> DataFormat:
    """A format whose words stand in two cells: parameter words, free words `PZDn`, else signal names."""
    parameter_words = set(row["parameter_words"].split())
    out, into = (
        tuple(_word(text, parameter_words) for text in row[column].split()) for column in ("words_out", "words_in")
    )
    return _format(row, name, family, out, into)


def _word(text: str, parameter_words: set[str]) -> FormatWord:
    if text in parameter_words:
        return FormatWord(text, "parameter")
    if re.fullmatch(r"PZD\d+", text):
        return FormatWord(text, "free")
    return FormatWord(text, "fixed", signals.find(text).name)


def _format(
    row: facts.Fact, name: str, family: str, words_out: tuple[FormatWord, ...], words_in: tuple[FormatWord, ...]
) -> DataFormat:
    octets = identifiers.octets_from_text(row["identifiers"])
    return DataFormat(name, family, words_out, words_in, octets, row["remark"], row["makers"], row.source, row.standing)


def _key(name: str) -> str:
    return re.sub(r"\s+", "", name).lower()
