"""Results as a pandas table for a lesson's cell: one line in the notebook, whole texts in the columns."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from enum import Enum
from operator import attrgetter

import pandas as pd

from helpers.facts import STANDINGS
from helpers.panels.kit.as_html import table
from helpers.quantity import about

# A sentence in a column is shown whole; pandas would cut it after 50 characters.
pd.set_option("display.max_colwidth", None, "display.width", 200)


class Table(pd.DataFrame):
    """A pandas table that a notebook shows as the panels show theirs: texts at the left, numbers at the right."""

    def _repr_html_(self) -> str:
        rows = [{str(column): value for column, value in row.items()} for row in self.to_dict("records")]
        return table(rows) if rows else "<p>Nothing to show.</p>"


def frame(items: Iterable[object], *columns: str) -> Table:
    """One row per item, one column per name; items are mappings, facts or anything with such attributes.

    A name may be followed by the heading to show, as in `"length_m: length in m"`. A value in a base unit is shown in
    the unit with which its heading ends, as a number to four digits: s in ms, F in nF, a share in %. A name may lead
    on: `worst.seconds`. Without names, all of a mapping's columns are taken.

    >>> frame([{"address": 3, "name": "fan 1"}], "name", "address: bus address").to_dict("records")
    [{'name': 'fan 1', 'bus address': 3}]
    >>> frame([{"c_f": "0.6e-9"}], "c_f: in nF").to_dict("records")
    [{'in nF': 0.6}]
    """
    listed = list(items)
    if not columns and listed and isinstance(listed[0], Mapping):
        columns = tuple(listed[0])
    headings = [(name, heading.strip() or name) for name, _, heading in (c.partition(":") for c in columns)]
    return Table([{heading: _value(item, name, heading) for name, heading in headings} for item in listed])


# Units of the tables that nobody says on the job: the factor, and the unit that people use.
_SAID = {"share": (100.0, "%"), "m²": (1e6, "mm²"), "Ω·m": (1e6, "Ω·mm²/m"), "s/m": (1e9, "ns/m")}
# How the name of a column in a base unit ends, and the unit that its heading asks for.
_ASKED = {("f", "pF"): 1e12, ("f", "nF"): 1e9, ("hz", "MHz"): 1e-6, ("s", "ms"): 1e3, ("seconds", "ms"): 1e3,
          ("rate", "kbit/s"): 1e-3, ("share", "%"): 100.0}  # fmt: skip
# Units that people write with a prefix where the table has a power of ten.
_PREFIXED = ("F", "H", "s", "A", "V", "Hz")
_POWER = re.compile(r"(-?\d+(?:\.\d+)?)e([+-]?\d+)")
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def _value(item: object, name: str, heading: str) -> object:
    """A value as people write it: yes and no, a number with its power of ten in the unit's prefix or raised."""
    value = item[name] if isinstance(item, Mapping) else attrgetter(name)(item)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return getattr(value, "words", value)
    if name in ("value", "unit") and isinstance(item, Mapping) and {"value", "unit"} <= set(item):
        return _with_prefix(str(item["value"]), str(item["unit"]))[name == "unit"]
    factor = _ASKED.get((re.split(r"[_.]", name)[-1], heading.rpartition(" ")[2]))
    if factor and value not in ("", None):
        return float(f"{float(str(value)) * factor:.4g}")
    return _raised(value) if isinstance(value, str) else value


def _with_prefix(value: str, unit: str) -> tuple[str, str]:
    """A number and its unit as people write them: the power of ten in the unit's prefix, a share in percent.

    >>> _with_prefix("110e-9", "H"), _with_prefix("390", "Ω"), _with_prefix("1.7241e-8", "Ω·m")
    (('110', 'nH'), ('390', 'Ω'), ('0.017241', 'Ω·mm²/m'))
    """
    if unit in _SAID:
        factor, said = _SAID[unit]
        return f"{float(value) * factor:.6g}", said
    power = _POWER.fullmatch(value)
    if power and unit in _PREFIXED:
        number, _, prefixed = about(float(value), unit, digits=6).partition(" ")
        return number, prefixed
    return _raised(value), unit


def _raised(text: str) -> str:
    power = _POWER.fullmatch(text)
    return f"{power[1]}·10{str(int(power[2])).translate(_RAISED)}" if power else text


# -- how the numbers of `data/` are known ---------------------------------------------------------------

MEANING = {
    "standard": "printed in the standard itself",
    "handbook": "printed in a handbook of the bus",
    "publication": "printed elsewhere: by the user organisation, a journal, a maker of parts, an open program",
    "device manual": "printed in the manual of a device: true there, often elsewhere",
    "calculated": "worked out from the others; the way is shown",
    "common practice": "what careful people do; no published source",
    "own setting": "chosen by this workbook for its simulation or its own rules: true for no plant",
    "memory": "known from memory; the source says where it was looked for: look it up before you rely on it",
}


def standings_of_facts() -> Table:
    """Each standing with its meaning.

    >>> standings_of_facts()["standing"].iloc[0]
    'standard'
    """
    return frame({"standing": standing, "means": MEANING[standing]} for standing in STANDINGS)
