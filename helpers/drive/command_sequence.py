"""From a wish to control words: the shortest sequence that takes a drive from where it is to what is wanted.

The sequence is found by trying, not by recipe: all common control words are sent to the state machine of
`helpers.drive.states`, first one, then two in a row, and so on, until a sequence does what the wish asks.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from helpers import facts
from helpers.drive.states import CALM, STATES, USUAL, Conditions, Options, Step, settle, step
from helpers.drive.words import common, spelled, word
from helpers.errors import one_of
from helpers.wording import capital_first


@dataclass(frozen=True)
class Move:
    """One control word of a sequence, and the steps it leads through."""

    word: int
    steps: tuple[Step, ...]

    @property
    def after(self) -> str:
        """The state the word leads to."""
        return self.steps[-1].after


@dataclass(frozen=True)
class Sequence:
    """The words to send, in order; none if the wish is fulfilled already or if no word can fulfil it.

    `sentence` says which of these it is, in words for a person.
    """

    wish: str
    moves: tuple[Move, ...]
    reachable: bool
    sentence: str


def wishes() -> tuple[str, ...]:
    """The wishes that are known: the rows of `data/wishes.csv`.

    >>> wishes()[:3]
    ('run', 'stop by ramp', 'quick stop')
    """
    return tuple(row["wish"] for row in facts.rows("wishes"))


def shortest(
    wish: str,
    state: str,
    previous: int | str = 0,
    conditions: Conditions = CALM,
    options: Options = USUAL,
) -> Sequence:
    """The shortest sequence of common control words that fulfils a wish.

    Parameters: wish, one of `wishes()`; state, where the drive is; previous, the word it took over last;
    conditions and options as for `helpers.drive.states.step`. After each word the drive is given the time to
    come to a standstill. Of two sequences of the same length the one with the more usual words is given.

    >>> [spelled(move.word) for move in shortest("run", "switching on inhibited").moves]
    ['16#047E', '16#047F']
    >>> [spelled(move.word) for move in shortest("run", "fault", "16#047F").moves]
    ['16#04FE', '16#047F']
    """
    one_of("wish", wish, wishes())
    one_of("state", state, STATES)
    row = facts.one("wishes", wish=wish)
    goal, by_way_of = row["goal"], row["by_way_of"]
    driven = STATES[state][1]
    if _reached(goal, state):
        return Sequence(wish, (), True, f"Nothing to send: the drive is in the state {state}.")
    if state == by_way_of:
        return Sequence(wish, (), True, f"Nothing new to send: the {state} is running already.")

    alphabet = [known.value for known in common("control")]
    start = (state, word(previous))
    seen = {start}
    waiting: deque[tuple[tuple[str, int], tuple[Move, ...]]] = deque([(start, ())])
    while waiting:
        (here, taken), moves = waiting.popleft()
        for sent in alphabet:
            steps = settle(here, taken, sent, conditions, options)
            if driven and not moves and not _keeps_way(steps, by_way_of):
                continue
            longer = (*moves, Move(sent, steps))
            last = steps[-1]
            if _reached(goal, last.after):
                return Sequence(wish, longer, True, _told(wish, longer))
            if (last.after, last.taken) not in seen:
                seen.add((last.after, last.taken))
                waiting.append(((last.after, last.taken), longer))
    held = step(state, previous, alphabet[0], conditions, options).why
    return Sequence(wish, (), False, f"No control word fulfils the wish {wish!r} now. {held}")


def _reached(goal: str, state: str) -> bool:
    number, driven = STATES[state]
    power_off = not driven and number != "S3"
    return {"power off": power_off, "no fault": number != "fault"}.get(goal, state == goal)


def _keeps_way(steps: tuple[Step, ...], by_way_of: str) -> bool:
    """True if the first word stops a driven motor in the way that the wish asks for."""
    if by_way_of == "at once":
        return not STATES[steps[0].after][1]
    return by_way_of in ("", steps[0].after)


def _told(wish: str, moves: tuple[Move, ...]) -> str:
    words = ", then ".join(f"{spelled(move.word)} (leads to: {move.after})" for move in moves)
    return f"{capital_first(wish)}: send {words}."
