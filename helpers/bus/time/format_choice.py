"""The shortest data format that carries what an application needs, with the message time that each format takes."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.time.message_cycle import Exchange, message_cycle
from helpers.device import choose, formats
from helpers.device.choose import FormatChoice, FormatRow
from helpers.device.format_answers import StripsPicture
from helpers.device.formats import DataFormat
from helpers.device.signals import Signal
from helpers.errors import Unreadable
from helpers.quantity import time_text
from helpers.wording import capital_first, counted

OFFERS: dict[str, Callable[[], tuple[DataFormat, ...]]] = {
    "PPO 1 to 5 and its own": lambda: formats.ppo_types() + formats.demo_formats(),
    "PPO 1 to 5": formats.ppo_types,
    "its own": formats.demo_formats,
    "standard telegrams": formats.standard_telegrams,
    "every known format": formats.all_formats,
}


def choice_answer(
    needs: Iterable[Signal | str], parameters: bool = False, offered: str = "PPO 1 to 5", bit_rate: float = 1_500_000
) -> Answer:
    """The shortest format that carries the needs, and every other held against it."""
    choice = choose.choose(needs, parameters=parameters, formats=OFFERS[offered]())
    if not choice.needs_out + choice.needs_in and not parameters:
        raise Unreadable("nothing is asked for; tick at least one signal.")
    rows = [_row(row, choice, bit_rate) for row in choice.rows]
    sources = [f"{row.format.name}: {row.format.cited}" for row in choice.rows]
    if choice.best is None:
        nearest = min(choice.rows, key=lambda row: row.missing_words_out + row.missing_words_in)
        return Answer(
            f"None of the {len(rows)} formats carries everything.",
            because=f"Nearest is {nearest.format.name}, which lacks {_missing(nearest)}. Send less in each cycle, or "
            "look whether the drive has longer formats of its own.",
            rows=rows,
            sources=sources,
        )
    rule = facts.one("format_rules", rule="shortest")
    return Answer(
        capital_first(choice.sentences[0]),
        because=" ".join([f"{capital_first(rule['says'])} ({rule.cited}).", *_reasons(choice, bit_rate)]),
        pictures=[StripsPicture((choice.best.format,), (*choice.needs_out, *choice.needs_in))],
        rows=rows,
        sources=sources,
    )


def _row(row: FormatRow, choice: FormatChoice, bit_rate: float) -> Row:
    message = _message_s(row.format, bit_rate)
    against = ""
    if choice.best is not None and row is not choice.best:
        extra = message - _message_s(choice.best.format, bit_rate)
        against = time_text(extra, signed=True)
    return {
        "format": row.format.name,
        "carries all": "▶ shortest" if row is choice.best else "yes" if row.fits else "no",
        "missing": _missing(row),
        "out": row.format.bytes_out,
        "in": row.format.bytes_in,
        f"message, {bit_rate_text(bit_rate)}": time_text(message),
        "against the choice": against,
    }


def _missing(row: FormatRow) -> str:
    parts = ["parameter channel"] if row.missing_parameters else []
    for way, words in (("out", row.missing_words_out), ("in", row.missing_words_in)):
        parts += [f"{counted(words, 'word')} {way}"] if words else []
    return ", ".join(parts)


def _reasons(choice: FormatChoice, bit_rate: float) -> list[str]:
    """Why no shorter one will do, who is just as short, and what the largest would cost."""
    assert choice.best is not None
    told = []
    if choice.shorter:
        told.append(
            f"{capital_first(choice.shorter[-1].format.name)} is shorter, but lacks {choice.shorter[-1].missing}."
        )
    if choice.equally_short:
        told.append(f"Equally short: {', '.join(row.format.name for row in choice.equally_short)}.")
    largest = max((row for row in choice.rows if row.fits), key=lambda row: row.format.bytes_both)
    if largest.extra_bytes:
        cost = _message_s(largest.format, bit_rate) - _message_s(choice.best.format, bit_rate)
        told.append(
            f"The largest, {largest.format.name}, would add {largest.extra_bytes} bytes, that is {time_text(cost)} for "
            "each drive in each cycle."
        )
    return told


def _message_s(form: DataFormat, bit_rate: float) -> float:
    return message_cycle(Exchange(form.bytes_out, form.bytes_in), bit_rate=bit_rate).seconds
