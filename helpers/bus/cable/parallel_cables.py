"""A list of the cables beside the bus cable, as people write it or paste it from a spreadsheet.

In words, one cable a line, the name first: `Fan 1: motor, shielded, 12 m at 0.1 m, steel divider`. As a
table: a first line of headings, then one cable a line, with tabs, semicolons or commas between the cells.
Empty lines, and lines that begin with `#`, are passed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from helpers.bus.cable.separation import CROSSINGS, DIVIDERS, SUPPLIES, USES, Run
from helpers.errors import Unreadable, in_range
from helpers.written import read_quantity

MOST_RUNS = 100
EXAMPLE = "Fan 1: motor, shielded, 12 m at 0.1 m"

_Said = dict[str, Any]

_USE = {**{use: use for use in USES}, "bus": "data", "signal": "data", "mains": "power", "supply": "power",
        "phone": "telephone"}  # fmt: skip
_YES, _NO = ("yes", "y", "x", "1", "true", "shielded"), ("no", "n", "none", "-", "–", "0", "false", "unshielded")
_LENGTH = r"([\d.,]+\s*(?:mm|cm|km|m|ft|in)?)"
_VOLTS = r"(?:3\s*[x×~]\s*)?([\d.,]+\s*[mk]?v)"


def read_runs(text: str) -> tuple[Run, ...]:
    r"""The cables of a list, in their order.

    A voltage without AC or DC is taken as AC, the stricter. Raises `Unreadable` for what cannot be read or is
    missing, naming the cable, and `OutOfRange` for a list longer than any tray or a number that no cable has.

    >>> read_runs("Lights: 230 V, crosses at right angle")[0].crossing
    'right angle'
    >>> runs = read_runs("cable\tkind\tparallel (m)\tdistance (cm)\nFan 1\tmotor\t12\t10")
    >>> runs[0].parallel_m, runs[0].distance_m
    (12.0, 0.1)
    """
    lines = [line.strip(" \r") for line in text.split("\n")]
    lines = [line for line in lines if line.strip() and not line.startswith("#")]
    in_range("number of lines", len(lines), 0, MOST_RUNS, source="lists the workbook takes")
    headings = _headings(lines[0]) if lines else None
    if len(lines) - (headings is not None) < 1:
        raise Unreadable(f"the list holds no cable; write for example {EXAMPLE}.")
    if headings is None:
        return tuple(_of_words(line) for line in lines)
    return tuple(_of_cells(line, *headings) for line in lines[1:])


# -- in words -----------------------------------------------------------------------------------------


def _of_words(line: str) -> Run:
    name, colon, rest = line.partition(":")
    items = [item.strip() for item in re.split(r"[;\t]|(?<!\d),|,(?!\d)", rest if colon else line)]
    if not colon:
        name = items.pop(0)
    said = _Said()
    for item in filter(None, items):
        for column, value in _item(name, item).items():
            if column in said:
                raise Unreadable(f"{_short(name)}: {_short(item)} comes on top of what was said before; keep one.")
            said[column] = value
    return _run(name, said)


def _item(name: str, item: str) -> _Said:
    """What one item says, by trying each form in turn."""
    words = _plain(item)
    for pattern, meaning in _FORMS:
        if found := re.fullmatch(pattern, words):
            return meaning(*found.groups())
    if said := _kind(words):
        return said
    raise Unreadable(
        f"{_short(name)}: {_short(item)} is not understood. Known are {', '.join(USES)}; a voltage; shielded; steel "
        f"divider, aluminium divider; right angle, slanting; and lengths, as in {EXAMPLE}."
    )


def _metres(typed: str) -> float:
    return read_quantity(typed, "length", "m")


_FORMS: list[tuple[str, Callable[..., _Said]]] = [
    (rf"(?:parallel |over |along )?{_LENGTH}(?: parallel| long)? (?:at|apart) {_LENGTH}(?: apart)?",
     lambda length, distance: {"parallel_m": _metres(length), "distance_m": _metres(distance)}),
    (rf"(?:parallel|over|along) {_LENGTH}", lambda length: {"parallel_m": _metres(length)}),
    (rf"{_LENGTH} (?:parallel|long)", lambda length: {"parallel_m": _metres(length)}),
    (rf"(?:at|distance) {_LENGTH}", lambda distance: {"distance_m": _metres(distance)}),
    (rf"{_LENGTH} (?:apart|away)", lambda distance: {"distance_m": _metres(distance)}),
    (r"(no |un|not |without )?(?:shield|shielded|with shield)", lambda no: {"shielded": no is None}),
    (r"(no|steel|alumini?um) divider", lambda metal: {"divider": _divider(metal)}),
    (r"(?:cross(?:es|ing)? )?(?:at )?(?:a )?right angles?", lambda: {"crossing": "right angle"}),
    (r"(?:cross(?:es|ing)? )?(?:at a )?slant(?:ing)?", lambda: {"crossing": "slanting"}),
]  # fmt: skip


def _divider(metal: str) -> str:
    return {"no": "none", "aluminum": "aluminium"}.get(metal, metal)


def _kind(words: str) -> _Said:
    """Use, voltage and kind of supply: `motor`, `400 V AC`, `power 24 V DC`; empty if it is none of them."""
    parts = re.fullmatch(rf"([a-z]*)(?: cable)? ?(ac|dc)? ?{_VOLTS}? ?(ac|dc)?", words)
    if not parts:
        return {}
    use, before, volts, after = parts.groups()
    if use in ("ac", "dc"):  # as in `dc 24 v`
        use, before = "", use
    if (use and use not in _USE) or not (use or volts):
        return {}
    said: _Said = {"use": _USE[use] if use else "power"}
    if volts:
        said["volts"] = read_quantity(volts, "voltage", "V")
    if before or after:
        said["supply"] = (before or after).upper()
    return said


# -- as a table ---------------------------------------------------------------------------------------

_COLUMNS = {
    "name": ("cable", "name", "run"),
    "use": ("kind", "use", "class", "carries"),
    "volts": ("voltage", "volts"),
    "supply": ("supply",),
    "shielded": ("shielded", "shield"),
    "parallel_m": ("parallel", "parallel length", "length"),
    "distance_m": ("distance",),
    "divider": ("divider",),
    "crossing": ("crossing", "crosses"),
}


def _headings(line: str) -> tuple[str, list[str], list[str]] | None:
    """Separator, column and unit of each heading; None for a line that is no row of headings."""
    for separator in ("\t", ";", ","):
        cells = [_plain(cell.strip(' "')) for cell in line.rstrip(separator).split(separator)]
        split = [re.fullmatch(r"(.*?)(?: ?(?:in |\(|\[)(\w+)[)\]]?)?", cell) for cell in cells]
        columns = [next((c for c, known in _COLUMNS.items() if s and s[1] in known), "") for s in split]
        if "name" in columns and len(set(columns) - {""}) >= 3:
            if "" in columns:
                known = ", ".join(words[0] for words in _COLUMNS.values())
                raise Unreadable(f"heading {_short(cells[columns.index('')])} is not known; known are {known}.")
            return separator, columns, [(s[2] if s else "") or "" for s in split]
    return None


def _of_cells(line: str, separator: str, columns: list[str], units: list[str]) -> Run:
    cells = [cell.strip(' "') for cell in line.split(separator)]
    if any(cells[len(columns) :]):
        raise Unreadable(f"{_short(cells[0])}: {len(cells)} cells stand below {len(columns)} headings.")
    row = list(zip(columns, units, cells, strict=False))
    name = next((cell for column, _, cell in row if column == "name"), "")
    said = _Said()
    for column, unit, cell in row:
        if column != "name" and cell:
            # A voltage alone is a power cable; beside it a column with the use has the last word.
            found = _cell(name, column, unit, _plain(cell))
            said = {**found, **said, **({} if column == "volts" else found)}
    return _run(name, said)


def _cell(name: str, column: str, unit: str, words: str) -> _Said:
    if column in ("parallel_m", "distance_m"):
        return {} if words in ("-", "–") else {column: read_quantity(words, "length", unit or "m")}
    if column in ("use", "volts"):
        bare = re.fullmatch(r"[\d.,]+", words)
        if said := _kind(f"{words} v" if bare else words):
            return said
        if column == "volts" and words in _NO:
            return {}
    if column == "supply" and words.upper() in SUPPLIES:
        return {column: words.upper()}
    if column == "shielded" and words in (*_YES, *_NO):
        return {column: words in _YES}
    if column == "divider" and _divider(words) in (*DIVIDERS, *_NO):
        return {column: "none" if words in _NO else _divider(words)}
    if column == "crossing" and words in (*CROSSINGS, *_NO):
        return {column: "none" if words in _NO else words}
    allowed = {
        "use": (*USES, "or a voltage"), "volts": ("a voltage, as in 400 V AC",), "supply": SUPPLIES,
        "shielded": ("yes", "no"), "divider": DIVIDERS, "crossing": CROSSINGS,
    }  # fmt: skip
    heading = _COLUMNS[column][0]
    raise Unreadable(f"{_short(name)}: {heading} is {_short(words)}; known are {', '.join(allowed[column])}.")


# -- both ---------------------------------------------------------------------------------------------


def _run(name: str, said: Mapping[str, Any]) -> Run:
    name = name.strip()
    if not name:
        raise Unreadable(f"a cable has no name; write it first, as in {EXAMPLE}.")
    if "use" not in said:
        raise Unreadable(f"{_short(name)}: what does it carry? Write {', '.join(USES)} or a voltage, as in 400 V AC.")
    if said["use"] == "power" and "volts" not in said:
        raise Unreadable(f"{_short(name)}: a power cable needs its voltage, as in 400 V AC.")
    if said.get("parallel_m") and "distance_m" not in said:
        raise Unreadable(f"{_short(name)}: at what distance from the bus cable does it run? Write 12 m at 0.1 m.")
    if "distance_m" in said and "parallel_m" not in said:
        raise Unreadable(f"{_short(name)}: over what length does it run beside the bus cable? Write 12 m at 0.1 m.")
    if not said.get("parallel_m") and said.get("crossing", "none") == "none":
        raise Unreadable(f"{_short(name)}: does it run beside the bus cable (12 m at 0.1 m) or cross it (right angle)?")
    return Run(name, **said)


def _plain(words: str) -> str:
    return " ".join(words.casefold().split())


def _short(typed: str) -> str:
    return repr(typed if len(typed) <= 40 else typed[:39] + "…")
