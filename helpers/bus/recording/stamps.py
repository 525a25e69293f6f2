"""Time stamps as recorders write them: a date and a clock, or a number of seconds, with or without a unit."""

from __future__ import annotations

import re

DATE = r"(?:\d{4}-\d\d-\d\d[T ]|\d\d?[./]\d\d?[./]\d{2,4}[ ])?"
CLOCK = r"\d\d?:\d\d:\d\d(?:[.,:]\d{1,9})?(?:Z|[ ]?[ap]m)?"
SECONDS = (
    r"(?:t\s?=\s?)?[+-]?(?:\d{1,12}(?:[.,]\d{1,12})?[ ]?(?:s|ms|us|µs|μs|ns)|\d{1,12}\.\d{1,12}|\d{1,12},\d{3,12})"
)
STAMP = re.compile(rf"{DATE}{CLOCK}|{SECONDS}", re.IGNORECASE)
