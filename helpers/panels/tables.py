"""Results as a pandas table for a lesson's cell: one line in the notebook, whole texts in the columns."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum

import pandas as pd

# A sentence in a column is shown whole; pandas would cut it after 50 characters.
pd.set_option("display.max_colwidth", None, "display.width", 200)


def frame(items: Iterable[object], *columns: str) -> pd.DataFrame:
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
    return pd.DataFrame([{heading: _value(item, name) for name, heading in headings} for item in listed])


def _value(item: object, name: str) -> object:
    value = item[name] if isinstance(item, Mapping) else getattr(item, name)
    return getattr(value, "words", value) if isinstance(value, Enum) else value
