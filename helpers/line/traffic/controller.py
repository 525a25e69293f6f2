"""The controller's side of one station: it starts it, exchanges data with it, and notices when it is gone.

    ask diagnosis → send parameters → send configuration → ask again → exchange data

Every request is answered, or repeated as often as the project says; then the station counts as lost and the start
begins anew. Sources: data/start_up_order.csv; PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.791 for the states.
That a controller goes on asking a lost station once in each cycle is from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from helpers.bus.services import chk_cfg, message, set_prm, slave_diag
from helpers.bus.services.slave_diag import SlaveDiag
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.function_code import COUNTS, next_count
from helpers.errors import WorkbookError
from helpers.line.plant.installation import Configured
from helpers.line.plant.program import DriveProgram

ASK, PARAMETERS, CONFIGURATION, ASK_AGAIN, EXCHANGE = (
    "asks for diagnosis",
    "sends parameters",
    "sends configuration",
    "asks again",
    "exchanges data",
)
_SERVICES = {
    ASK: "Slave_Diag",
    ASK_AGAIN: "Slave_Diag",
    PARAMETERS: "Set_Prm",
    CONFIGURATION: "Chk_Cfg",
    EXCHANGE: "Data_Exchange",
}
_NEXT = {count: next_count(count) for count in COUNTS}
_NOT_READY = frozenset({"Station_Not_Ready", "Prm_Req", "Prm_Fault", "Cfg_Fault", "Not_Supported"})
_CHANGING, _INPUTS = ("phase", "diagnosis", "answered", "outputs", "_count", "_fetch"), ("inputs", "_usual")
_LOST = SlaveDiag(frozenset({"Station_Non_Existent"}), slave_diag.NO_MASTER, 0)
_FUNCTION, _DL, _DH = 0x0F, 0x08, 0x0A


@dataclass
class Counters:
    """What a controller counts for one station.

    messages: requests, each counted once; repeats: requests sent again; lost: requests that even then had no answer;
    damaged: answers that came and could not be read; starts: how often data exchange began; refusals: answers that
    say "not now".
    """

    messages: int = 0
    repeats: int = 0
    lost: int = 0
    damaged: int = 0
    starts: int = 0
    refusals: int = 0

    def since(self, earlier: Mapping[str, int]) -> tuple[tuple[str, int], ...]:
        """What has been counted since, by name, where it is anything."""
        return tuple((name, now - earlier[name]) for name, now in vars(self).items() if now != earlier[name])

    def add(self, more: tuple[tuple[str, int], ...], times: int) -> None:
        """Count that so many times.

        >>> counters = Counters(messages=3); counters.add((("messages", 1), ("lost", 1)), 5); counters.lost
        5
        """
        for name, number in more:
            self.__dict__[name] += number * times


class Handler:
    """One station as the controller sees it.

    phase: what it does with the station now. inputs: the last ones, None outside data exchange. diagnosis: the last one
    that was fetched, with what the controller itself adds (not there, held by another master). forced: outputs that a
    person writes in place of the program, None for none.
    """

    def __init__(self, configured: Configured, controller: int) -> None:
        self.configured, self.controller = configured, controller
        self.address = configured.address
        self.phase = ASK
        self.counters = Counters()
        self.diagnosis: SlaveDiag | None = None
        self.inputs: bytes | None = None
        self.forced: bytes | None = None
        self.answered = False
        self._program = DriveProgram(configured)
        self.outputs = bytes(configured.configuration.bytes_out)
        self._size_in = configured.configuration.bytes_in
        self._count = "first"
        self._fetch = False
        self._requests: dict[str, bytes] = {}  # Data_Exchange with the present outputs, by frame count
        self._starting: dict[tuple[str, str], bytes] = {}  # the other services, which never change
        self._usual = b""

    @property
    def name(self) -> str:
        """The station's name in the project."""
        return self.configured.name

    @property
    def exchanging(self) -> bool:
        """True if its next request is a Data_Exchange."""
        return self.phase == EXCHANGE and not self._fetch

    @property
    def standing(self) -> tuple[object, ...]:
        """All that telegrams can change in it, apart from what is counted, and from the inputs in data exchange."""
        names = _CHANGING if self.phase == EXCHANGE and not self._fetch else _CHANGING + _INPUTS
        return tuple(map(self.__dict__.__getitem__, names))

    def stand(self, standing: tuple[object, ...]) -> None:
        """Stand as `standing` told."""
        self.__dict__.update(zip(_CHANGING + _INPUTS, standing, strict=False))

    def work(self, *, running: bool) -> None:
        """The controller's program looks at the inputs and writes the outputs; a stopped controller writes zeros."""
        if not running:
            outputs = bytes(len(self.outputs))
        elif self.forced is not None:
            outputs = self.forced
        else:
            outputs = self._program.outputs(self.inputs)
        if outputs != self.outputs:
            self.outputs = outputs
            self._requests.clear()

    def request(self) -> bytes:
        """The telegram that goes to the station next."""
        self.counters.messages += 1
        if self.exchanging:
            made = self._requests.get(self._count)
            if made is None:
                made = self._requests[self._count] = self._made("Data_Exchange", self.outputs)
            return made
        service = "Slave_Diag" if self._fetch else _SERVICES[self.phase]
        if (service, self._count) not in self._starting:
            self._starting[service, self._count] = self._made(service, self._data(service))
        return self._starting[service, self._count]

    def _data(self, service: str) -> bytes:
        if service == "Set_Prm":
            watchdog_s = self.configured.watchdog_s
            flags = ("Lock_Req", "WD_On") if watchdog_s else ("Lock_Req",)
            wanted = set_prm.build(
                ident=self.configured.ident, watchdog_s=watchdog_s, flags=flags, user=self.configured.user
            )
            return wanted.octets
        if service == "Chk_Cfg":
            return chk_cfg.encode(self.configured.configuration)
        return b""

    def _made(self, service: str, data: bytes) -> bytes:
        asked = message.request(service, to=self.address, sender=self.controller, data=data, count=self._count)
        return asked.octets

    def take(self, answer: bytes) -> None:
        """The station has answered with a whole telegram."""
        self._count = _NEXT[self._count]
        self.answered = True
        if self.exchanging:
            self.take_inputs(answer)
            return
        said = frames.whole(answer)
        if said is None:
            return
        if self._fetch or self.phase in (ASK, ASK_AGAIN):
            self._diagnosed(said)
        elif said.kind == "SC":
            self.phase = CONFIGURATION if self.phase == PARAMETERS else ASK_AGAIN
        else:
            self._refused()

    def take_inputs(self, answer: bytes) -> None:
        """The answer to a Data_Exchange has come."""
        if answer == self._usual or (said := frames.whole(answer)) is None:
            return  # the same inputs as in the cycle before
        size = self._size_in
        if said.kind == "SC" and not size:
            self.inputs = b""
            return
        function = said.fc & _FUNCTION
        if function not in (_DL, _DH) or len(said.data) not in (size, 0):
            self._refused()
            return
        if len(said.data) == size:
            self.inputs = said.data
        self._fetch = function == _DH
        self._usual = b"" if self._fetch else answer

    def _diagnosed(self, said: frames.Frame) -> None:
        self._fetch = False
        try:
            diagnosis = slave_diag.decode(said.user_data)
        except WorkbookError:
            self._refused()
            return
        if diagnosis.master not in (slave_diag.NO_MASTER, self.controller):
            diagnosis = SlaveDiag(diagnosis.flags | {"Master_Lock"}, diagnosis.master, diagnosis.ident)
        self.diagnosis = diagnosis
        if "Master_Lock" in diagnosis.flags:
            self._start_anew()
        elif self.phase == ASK:
            self.phase = PARAMETERS
        elif diagnosis.flags & _NOT_READY:
            self._start_anew()
        elif self.phase == ASK_AGAIN:
            self.phase = EXCHANGE
            self.counters.starts += 1

    def _refused(self) -> None:
        self.counters.refusals += 1
        self._start_anew()

    def _start_anew(self) -> None:
        self.phase, self.inputs, self._fetch, self._usual = ASK, None, False, b""

    def lose(self) -> None:
        """No answer came, however often the request was sent."""
        self.counters.lost += 1
        self.answered = False
        self._count = "first"
        self.diagnosis = _LOST
        self._requests.clear()
        self._start_anew()
