"""The start of one station, step by step: the telegrams between it and its controller, and what each of them knows.

One step is one rotation of the token, in which the controller asks each station once. The telegrams come from the
recording of the practice line.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.recording import telegram_meaning
from helpers.bus.recording.telegram_meaning import ANSWER, REQUEST, TOKEN, Telegram
from helpers.bus.services.slave_diag import SlaveDiag
from helpers.errors import in_range
from helpers.line.traffic.line import Line
from helpers.line.traffic.telegram_log import Recording

MOST_STEPS = 60


@dataclass(frozen=True)
class StartUpStep:
    """What passed between a controller and one station in one rotation.

    number: from 1. at_s: when it was over [s]. telegrams: the requests and answers, with every repeat. text: the same
    as the telegram reader takes it. controller: what the controller does next; station: the state that the station is
    in now. diagnosis: the last one that the controller holds of the station, if any.
    """

    number: int
    at_s: float
    telegrams: tuple[Telegram, ...]
    text: str
    controller: str
    station: str
    diagnosis: SlaveDiag | None

    @property
    def service(self) -> str:
        """The service that the controller asked for."""
        return next((one.service for one in self.telegrams if one.role == REQUEST), "")

    @property
    def answer(self) -> Telegram | None:
        """The last answer; None if there was none."""
        return next((one for one in reversed(self.telegrams) if one.role == ANSWER), None)


def steps(line: Line, name: str, count: int, *, first: int = 1) -> tuple[StartUpStep, ...]:
    """Let so many rotations pass and tell what one station and its controller did in each.

    Parameters: line, as it is now; name, of a station of the loaded project; count, 1 to 60; first, the number of the
    first step.
    Return: the steps. Errors: `Unknown` for a station that the project does not have, `OutOfRange` for the count.

    >>> from helpers.facts import DATA
    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> line = Line(installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0]))
    >>> [step.service for step in steps(line, "Cooling fan", 5)]
    ['Slave_Diag', 'Set_Prm', 'Chk_Cfg', 'Slave_Diag', 'Data_Exchange']
    """
    in_range("number of steps", count, 1, MOST_STEPS)
    return tuple(_step(line, name, first + n) for n in range(count))


def _step(line: Line, name: str, number: int) -> StartUpStep:
    handler = line.handler(name)
    before, line.recording = line.recording, Recording()
    line.recording.on = True
    line.run(1e-9)  # to the end of one rotation
    heard, line.recording = line.recording, before
    mine, ours = Recording(), False
    for one in heard:
        if before.on:
            before.note(*one)
        (said, *_) = telegram_meaning.read(one.octets)
        if said.role in (REQUEST, TOKEN):
            ours = said.frame is not None and said.frame.receiver == handler.address and said.service != "FDL status"
        if ours:
            mine.note(*one)
    told = tuple(telegram_meaning.read(mine.octets))
    return StartUpStep(
        number,
        line.now_s,
        told,
        mine.text(line.installation.bit_rate),
        handler.phase,
        line.slaves[name].state,
        handler.diagnosis,
    )
