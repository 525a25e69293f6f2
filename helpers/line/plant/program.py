"""The controller's program for one drive: from what the drive says to the words that it gets next."""

from __future__ import annotations

from typing import Literal

from helpers.device.formats import in_words
from helpers.drive.parameters import parameter_channel, parameter_dialogue
from helpers.drive.scaling import unsigned
from helpers.drive.states import CONTROL_BY_PLC
from helpers.drive.words import word
from helpers.errors import WorkbookError
from helpers.line.plant.installation import Configured, Program

_STOP, _RUN = word("16#047E"), word("16#047F")
_ACKNOWLEDGE = 1 << 7
_FAULT, _INHIBITED = 1 << 3, 1 << 6
_MOST = 0x7FFF


class DriveProgram:
    """Writes the outputs of one station in each cycle of the controller.

    It knows the format that the project names for the station, not the one that the drive really has.
    """

    def __init__(self, configured: Configured) -> None:
        self.program = configured.program or Program(run=False)
        sizes = configured.configuration
        self._out, self._in = sizes.bytes_out, sizes.bytes_in
        self._channel = has_channel(configured.data_format)
        self._words_in, self._words_out = _places(configured.data_format)
        self._silent = configured.program is None or not self._words_out
        self._acknowledged = 0
        self._task_done = False
        status = 2 * self._words_in[0] if self._words_in else 0
        self._looks = slice(0 if self._channel else status, status + 2)
        self._seen: tuple[bytes | None, int, bool] | None = None
        self._written = b""

    def outputs(self, inputs: bytes | None) -> bytes:
        """The outputs that follow the inputs; None for inputs while the station is not in data exchange."""
        if self._silent:
            return bytes(self._out)
        seen = (self._looked_at(inputs), self._acknowledged, self._task_done)
        if seen != self._seen:
            self._seen, self._written = seen, self._work(inputs)
        return self._written

    def _looked_at(self, inputs: bytes | None) -> bytes | None:
        """The status word, and the parameter channel before it: actual values change in every cycle and say nothing."""
        return inputs[self._looks] if inputs and len(inputs) == self._in else None

    def _work(self, inputs: bytes | None) -> bytes:
        said = self._heard(inputs)
        words = [0] * (self._out // 2)
        at = self._words_out[0]
        words[at] = self._control(said[self._words_in[0]] if said else None)
        if len(self._words_out) > 1:
            wanted = round(self.program.percent / 100 * self.program.full_scale)
            words[self._words_out[1]] = unsigned(max(-_MOST - 1, min(_MOST, wanted)))
        if self._channel:
            words[:4] = self._task(said)
        return b"".join(value.to_bytes(2, self._order) for value in words)

    @property
    def _order(self) -> Literal["little", "big"]:
        return "little" if self.program.swapped else "big"

    def _heard(self, inputs: bytes | None) -> list[int]:
        if not inputs or len(inputs) != self._in:
            return []
        return [int.from_bytes(inputs[at : at + 2], self._order) for at in range(0, len(inputs) - 1, 2)]

    def _control(self, status: int | None) -> int:
        program = self.program
        control = _RUN if program.run else _STOP
        if program.run and program.waits and (status is None or status & (_FAULT | _INHIBITED)):
            control = _STOP
        if status is not None and status & _FAULT and program.acknowledges and self._acknowledged < 2:
            # One rising edge: a cycle with the bit at 0 has gone before.
            control = _STOP | _ACKNOWLEDGE * self._acknowledged
            self._acknowledged += 1
        return control if program.bit_10 else control & ~CONTROL_BY_PLC

    def _task(self, said: list[int]) -> list[int]:
        program = self.program
        task = program.task
        if task is None or (self._task_done and program.cleared):
            return [0] * 4
        octets = parameter_channel.encode(task)
        if said:
            answer = parameter_channel.decode(b"".join(value.to_bytes(2, "big") for value in said[:4]))
            self._task_done |= parameter_dialogue.match(task, answer).belongs
        return [int.from_bytes(octets[at : at + 2], "big") for at in range(0, 8, 2)]


def _places(data_format: str) -> tuple[list[int], list[int]]:
    """Where the process data words of a format lie in and out.

    No words at all for a format that is given by its identifiers, such as that of a remote I/O.
    """
    try:
        form = in_words(data_format)
    except WorkbookError:
        return [], []
    known = [[n for n, w in enumerate(form.words(way)) if w.kind != "parameter"] for way in ("in", "out")]
    return known[0], known[1]


def has_channel(data_format: str) -> bool:
    """True for a format that begins with the profile's parameter channel.

    >>> has_channel("PPO 2"), has_channel("PPO 4"), has_channel("16#11 16#21")
    (True, False, False)
    """
    try:
        form = in_words(data_format)
    except WorkbookError:
        return False
    return form.family == "PPO" and form.parameter_channel
