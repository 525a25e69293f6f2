"""What a control or status word says, as an answer: one word bit by bit, or two words beside each other."""

from __future__ import annotations

from dataclasses import dataclass

from helpers.answer import Answer
from helpers.drive import words
from helpers.safe_work import cautions
from helpers.wording import capital_first, counted

_RUN = words.encode(on=["on", "enable operation", "control by PLC"])


@dataclass(frozen=True)
class WordPicture:
    """The 16 bits of a word in a row; a bit that keeps the drive from running is marked, be it 0 or 1."""

    value: int
    kind: str = "control"

    @property
    def rows(self) -> tuple[words.WordBit, ...]:
        """The bits with their meanings."""
        return words.decode(self.value, self.kind)

    @property
    def says(self) -> str:
        """Which bits are set, and which keep the drive from running."""
        set_bits = ", ".join(f"{row.bit} {row.name}" for row in self.rows if row.value)
        holding = ", ".join(f"{row.bit} = {row.value}" for row in self.rows if row.holds)
        held = f"; keep the drive from running: {holding}" if holding else ""
        return f"{words.spelled(self.value)}: bits set: {set_bits or 'none'}{held}"


@dataclass(frozen=True)
class TwoWordsPicture:
    """Two words of a kind, one below the other; each bit that rises or falls is marked."""

    before: int
    after: int
    kind: str = "control"

    @property
    def says(self) -> str:
        """What changes from one to the other."""
        changes = words.compare(self.before, self.after, self.kind)
        return (
            f"{words.spelled(self.before)} above {words.spelled(self.after)}: {' '.join(changes) or 'no bit changes.'}"
        )


def word_answer(kind: str, value: int, before: int | None = None) -> Answer:
    """One word explained; with the word before it, what changed."""
    usual = words.usual(value, kind)
    sentence = f"{words.spelled(value)} = {words.pattern(value)} = {value}."
    because = []
    if usual:
        sentence += f" {capital_first(usual.name)}."
        because.append(f"{capital_first(usual.meaning)}.")
    if kind == "status":
        because.append(words.state(value).sentence)
    if before is not None:
        changes = words.compare(before, value, kind)
        because.append(f"Against {words.spelled(before)}: " + (" ".join(changes) or "no bit changed."))
    rows = words.decode(value, kind)
    return Answer(
        sentence,
        because=" ".join(because),
        caution=cautions("word starts") if _starts(kind, value) else (),
        pictures=[WordPicture(value, kind)],
        rows=[
            {
                "bit": row.bit,
                "value": row.value,
                "name": _name(row),
                "what it says now": row.meaning,
                "standing": row.standing,
            }
            for row in rows
        ],
        sources=[f"bit {row.bit}: {row.source}" for row in rows if row.source],
    )


def compare_answer(kind: str, before: int, after: int) -> Answer:
    """Two words: which bits differ, what each said and says, and what it means for the state."""
    pairs = zip(words.decode(before, kind), words.decode(after, kind), strict=True)
    changed = [(old, new) for old, new in pairs if old.value != new.value]
    differ = f"{counted(len(changed), 'bit')} differ{'s' if len(changed) == 1 else ''}" if changed else "no bit differs"
    return Answer(
        f"From {words.spelled(before)} to {words.spelled(after)}: {differ}.",
        because=" ".join([*_usual_names(kind, before, after), *_state_change(kind, before, after)]),
        caution=cautions("word starts") if _starts(kind, after) else (),
        pictures=[TwoWordsPicture(before, after, kind)],
        rows=[
            {"bit": new.bit, "name": _name(new), "said": old.meaning, "says now": new.meaning} for old, new in changed
        ],
        sources=[f"bit {new.bit}: {new.source}" for _, new in changed],
    )


def _starts(kind: str, value: int) -> bool:
    """True for a control word with which a motor can start to turn."""
    return kind == "control" and value & _RUN == _RUN


def _usual_names(kind: str, *values: int) -> list[str]:
    usual = [words.usual(value, kind) for value in dict.fromkeys(values)]
    return [f"{word.text}: {word.name}." for word in usual if word]


def _state_change(kind: str, before: int, after: int) -> list[str]:
    if kind != "status":
        return []
    was, now = words.state(before).name, words.state(after).name
    return [f"State: {was} → {now}." if was != now else f"The state stays {now}."]


def _name(row: words.WordBit) -> str:
    return f"{row.name} (maker)" if row.maker_specific else row.name
