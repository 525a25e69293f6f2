"""Results as a pandas table for a lesson's cell: one line in the notebook, whole texts in the columns."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum

import pandas as pd

from helpers.panels.view import table

# A sentence in a column is shown whole; pandas would cut it after 50 characters.
pd.set_option("display.max_colwidth", None, "display.width", 200)


class Table(pd.DataFrame):
    """A pandas table that a notebook shows as the panels show theirs: texts at the left, numbers at the right."""

    def _repr_html_(self) -> str:
        rows = [{str(column): value for column, value in row.items()} for row in self.to_dict("records")]
        return table(rows) if rows else "<p>Nothing to show.</p>"


def frame(items: Iterable[object], *columns: str) -> Table:
    """One row per item, one column per name; items are mappings, facts or anything with such attributes.

    A name may be followed by the heading to show, as in `"length_m: length in m"`. Without names, all of
    a mapping's columns are taken.

    >>> frame([{"address": 3, "name": "fan 1"}], "name", "address: bus address").to_dict("records")
    [{'name': 'fan 1', 'bus address': 3}]
    """
    listed = list(items)
    if not columns and listed and isinstance(listed[0], Mapping):
        columns = tuple(listed[0])
    headings = [(name, heading.strip() or name) for name, _, heading in (c.partition(":") for c in columns)]
    return Table([{heading: _value(item, name) for name, heading in headings} for item in listed])


def _value(item: object, name: str) -> object:
    value = item[name] if isinstance(item, Mapping) else getattr(item, name)
    return getattr(value, "words", value) if isinstance(value, Enum) else value
