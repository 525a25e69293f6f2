r"""An I/O image as files: a table in CSV, and variable declarations in IEC 61131-3 structured text.

A declaration names a value and its address, so that a program says `dryer_fan_1_control_word` and not `%QW600`:

    VAR_GLOBAL
        dryer_fan_1_control_word AT %QW600 : WORD; (* Dryer fan 1: STW1, control word 1; bytes 600 and 601 *)
    END_VAR
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache

from helpers import facts
from helpers.device.byte_order import iec_types
from helpers.device.io_image import AREA, NUMBERINGS, SIZES, Image, ImagePlace, address, bytes_told
from helpers.errors import Unreadable, one_of
from helpers.spreadsheet import csv_text, unmarked

_LETTERS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue", "ß": "ss", "ø": "o"})
_LONGEST_NAME = 40  # characters of a station's name that a variable keeps
_YES, _NO = "yes", "no"
_COLUMNS = ("address", "word number", *ImagePlace._fields)


def to_csv(places: Iterable[ImagePlace]) -> str:
    """The values as a CSV table: address in both numberings, then all that is known of each.

    >>> from helpers.device.formats import by_name
    >>> from helpers.device.io_image import ImageStation, lay_out
    >>> print(to_csv(lay_out([ImageStation("fan 1", by_name("PPO 3"))]).places).splitlines()[1])
    %QW0,%QW0,fan 1,out,0,2,STW1,control word 1,control_word,WORD,yes,"2 words, whole"
    """
    rows: list[Iterable[object]] = [_COLUMNS]
    for one in places:
        *before, kept_whole, promise = one
        rows.append((one.address, one.word_address, *before, _YES if kept_whole else _NO, promise))
    return csv_text(rows)


def from_csv(text: str) -> tuple[ImagePlace, ...]:
    """The values of a table that `to_csv` wrote, and that a person may have changed.

    Errors: `Unreadable` with the line, for other columns, and for a cell that is no number or no known word.
    """
    try:
        table = csv.DictReader(io.StringIO(text, newline=""), strict=True)
        if tuple(table.fieldnames or ()) != _COLUMNS:
            raise Unreadable(f"the table has other columns; expected are {', '.join(_COLUMNS)}.")
        return tuple(_place(row, line) for line, row in enumerate(table, 2))
    except csv.Error as error:
        raise Unreadable(f"the text is not a CSV table: {error}.") from None


def _place(row: dict[str, str], line: int) -> ImagePlace:
    if None in row or None in row.values():
        raise Unreadable(f"row {line} has more or fewer cells than the heading, which has {len(_COLUMNS)}.")
    allowed: dict[str, Iterable[str]] = {
        "direction": AREA,
        "length_bytes": [str(length) for length in SIZES],
        "kept_whole": (_YES, _NO),
        "type": [one.name for one in iec_types()],
    }
    for column, known in allowed.items():
        if row[column] not in known:
            raise Unreadable(f"row {line}, {column}: {row[column][:40]!r}; allowed are {', '.join(known)}.")
    if not re.fullmatch("[0-9]{1,9}", row["first_byte"]):
        raise Unreadable(f"row {line}, first_byte: {row['first_byte'][:40]!r} is not a byte number.")
    station, signal, meaning, variable, promise = (
        unmarked(row[column]) for column in ("station", "signal", "meaning", "variable", "promise")
    )
    return ImagePlace(
        station, row["direction"], int(row["first_byte"]), int(row["length_bytes"]), signal,
        meaning, variable, row["type"], row["kept_whole"] == _YES, promise,
    )  # fmt: skip


def declarations(image: Image, *, numbering: str = NUMBERINGS[0]) -> str:
    """The values as variable declarations in structured text, inputs and outputs of a station together.

    Parameters: image; numbering, `byte numbers` or `word numbers`. A double word that word numbering cannot address
    is declared as its two words; a word at an odd byte as its two bytes, the high byte first.
    Return: the text of one VAR_GLOBAL block; each name is legal, and none comes twice.
    Errors: `Unknown` for a numbering.
    Source: IEC 61131-3, directly represented variables and comments.

    >>> from helpers.device.formats import by_name
    >>> from helpers.device.io_image import ImageStation, lay_out
    >>> print(declarations(lay_out([ImageStation("Fan 1", by_name("PPO 3"))])).splitlines()[1].strip())
    fan_1_control_word AT %QW0 : WORD; (* Fan 1: STW1, control word 1; bytes 0 and 1 *)
    """
    one_of("numbering", numbering, NUMBERINGS)
    lines = ["VAR_GLOBAL"]
    taken: set[str] = set()
    begin = {one.name: identifier(one.name)[:_LONGEST_NAME] for one in image.stations}
    for one in image.places:
        whole = "" if one.kept_whole or one.length_bytes == 1 else "; not kept whole"
        named = _comment(f"{one.station}: {one.signal or 'free'}, {one.meaning}")
        said = f"{named}; {bytes_told(one)}{whole}"
        for suffix, where, kind in _addressable(one, numbering):
            name = _unique(f"{begin[one.station]}_{one.variable}{suffix}", taken)
            lines.append(f"    {name} AT {where} : {kind}; (* {said} *)")
    return "\n".join([*lines, "END_VAR", ""])


@lru_cache(maxsize=4096)
def identifier(name: str) -> str:
    """A legal IEC 61131-3 identifier for any name: letters, digits and single underscores, and no keyword.

    A letter with a mark becomes its plain letter, anything else an underscore. Lower case, because capitals do not
    tell two identifiers apart.

    >>> identifier("Dryer fan 1"), identifier("Trocknerlüfter (Nord)"), identifier("2nd fan"), identifier("Var")
    ('dryer_fan_1', 'trocknerluefter_nord', 'n2nd_fan', 'var_x')
    """
    plain = unicodedata.normalize("NFKD", name.translate(_LETTERS)).encode("ascii", "ignore").decode()
    text = re.sub(r"[^a-z0-9]+", "_", plain.lower()).strip("_") or "station"
    if text[0].isdigit():
        text = f"n{text}"
    return f"{text}_x" if text.upper() in keywords() else text


@cache
def keywords() -> frozenset[str]:
    """The words that no variable may bear (`data/iec_keywords.csv`)."""
    return frozenset(row["keyword"] for row in facts.rows("iec_keywords"))


def _addressable(one: ImagePlace, numbering: str) -> list[tuple[str, str, str]]:
    """A value as the parts that have an address: name's ending, address, type."""
    if whole := address(one.direction, one.first_byte, one.length_bytes, numbering=numbering):
        return [("", whole, one.type)]
    half = one.length_bytes // 2
    parts = [(f"_byte_{n + 1}", n, 1, "BYTE") for n in range(one.length_bytes)]
    if one.length_bytes == max(SIZES) and one.first_byte % half == 0:
        parts = [("_high", 0, half, "WORD"), ("_low", half, half, "WORD")]
    return [
        (suffix, address(one.direction, one.first_byte + at, length, numbering=numbering), kind)
        for suffix, at, length, kind in parts
    ]


def _unique(name: str, taken: set[str]) -> str:
    found, count = identifier(name), 1
    while found in taken:
        count += 1
        found = f"{identifier(name)}_{count}"
    taken.add(found)
    return found


def _comment(text: str) -> str:
    """Text that neither ends a comment nor opens another, on one line."""
    one_line = " ".join(text.split())
    return re.sub(r"\*(?=\))|(?<=\()\*", "·", one_line) if "*" in one_line else one_line
