"""Puts words into sentences."""

from __future__ import annotations


def capital_first(text: str) -> str:
    """The text with a capital in front, as a sentence begins; the rest stays, so that DC and PLC do.

    >>> capital_first("watchdog of the DC link"), capital_first("")
    ('Watchdog of the DC link', '')
    """
    return text[:1].upper() + text[1:]
