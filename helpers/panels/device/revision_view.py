"""Two descriptions of one device side by side: what changed, what that breaks, and what then has to be done."""

from __future__ import annotations

from collections.abc import Sequence

from helpers.answer import Answer, Row
from helpers.device.description.compare import Change, Effect, compare, differs_in_texts_only, steps
from helpers.device.description.model import Description
from helpers.errors import one_of
from helpers.panels.device.description_files import ident_text, named
from helpers.safe_work import cautions
from helpers.wording import short

CHANGED, TO_DO = SHOWN = ("what changed", "what has to be done")
ANY = "not known"

_OPEN_ROWS = 7
# A sign with the words, as for a verdict; what breaks a network is no matter of the standard.
_SIGNS = {Effect.NONE: "●", Effect.BREAKS: "■"}


def revision_view(old: Description, new: Description, used: str = ANY, show: str = CHANGED) -> Answer:
    """What changed between two descriptions; `used` is the module that the network uses."""
    one_of("view", show, SHOWN)
    changes = compare(old, new, None if used == ANY else [used])
    if not changes:
        return Answer("No difference between the two: comments, spaces and the order of lines are none.")
    texts_only = differs_in_texts_only(old, new)
    if show == TO_DO:
        return _to_do_view(old, new, changes, texts_only)
    rows = [_row(change) for change in changes if change.effect]
    harmless = [_row(change) for change in changes if not change.effect]
    return Answer(
        _sentence(old, new, changes, texts_only),
        because=_because(old, new, used, texts_only),
        caution=cautions("load") if rows and not texts_only else (),
        rows=rows[:_OPEN_ROWS] or harmless[:_OPEN_ROWS],
        folded=[
            (f"{len(rows) - _OPEN_ROWS} more", rows[_OPEN_ROWS:200]),
            (f"Changes that change nothing that runs: {len(harmless)}", harmless[:200] if rows else []),
        ],
    )


def _sentence(old: Description, new: Description, changes: Sequence[Change], texts_only: bool) -> str:
    if texts_only:
        return f"{named(old)}: the two differ in texts only. They are one device in two languages."
    breaking = sum(change.effect is Effect.BREAKS for change in changes)
    count = f"{len(changes)} change{'s' if len(changes) > 1 else ''}"
    those = "none of them breaks" if not breaking else f"{breaking} of them break{'s' if breaking == 1 else ''}"
    return f"From {named(old)} to {named(new)}: {count}, {those} a running network that uses what it changes."


def _because(old: Description, new: Description, used: str, texts_only: bool) -> str:
    if old.ident != new.ident:
        return (
            f"The ident numbers differ, {ident_text(old)} and {ident_text(new)}: these are two devices. A station "
            "answers to the number of its own description only."
        )
    if texts_only:
        return "What goes on the bus is the same. Take the language that your people read."
    if used == ANY:
        return "Say which module your station uses: then what it does not use counts no more."
    return f"Judged for a station with the module {short(used)}."


def _row(change: Change) -> Row:
    return {
        "what": short(change.what, 64),
        "before": short(change.before, 44) or "–",
        "after": short(change.after, 44) or "–",
        "what it does": f"{_SIGNS.get(change.effect, '▲')} {change.effect.words}",
    }


def _to_do_view(old: Description, new: Description, changes: Sequence[Change], texts_only: bool) -> Answer:
    listed = () if texts_only else steps(changes)
    rows: list[Row] = [{"step": number, "in the engineering computer, and at the drive": step} for number, step in
                       enumerate(listed, 1)]  # fmt: skip
    if not rows:
        return Answer(
            f"{named(new)}: nothing has to be done for what runs.",
            because="Choose the new file for stations that you add from now on.",
        )
    return Answer(
        f"From {named(old)} to {named(new)}: {len(rows)} steps, in this order.",
        because="Until the controller is loaded, the station gets what the older file said.",
        caution=cautions("load"),
        rows=rows,
    )
