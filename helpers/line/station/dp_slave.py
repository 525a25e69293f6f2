"""The bus side of a station: it hears telegrams, answers them, and goes through the states of a DP slave.

    off → waiting for parameters → waiting for configuration → data exchange

Set_Prm with the right ident number leads on, Chk_Cfg with the station's own configuration leads into data exchange. The
watchdog, a release or new parameters lead back. What lock and unlock say together is `data/set_prm_lock.csv`. Source:
Lika SFA-10000 manual p.15 for the order of the states. From memory: what leads back, the answer RS to what is not open
at the moment, and that sync and freeze need their bit in Set_Prm.
"""

from __future__ import annotations

import math
from dataclasses import replace

from helpers.bus.services import chk_cfg, global_control, message, set_prm, set_slave_add
from helpers.bus.services.diag_blocks import Block
from helpers.bus.services.global_control import Held
from helpers.bus.services.set_prm import SetPrm
from helpers.bus.services.slave_diag import FIXED, NO_MASTER, SlaveDiag
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import Frame
from helpers.bus.telegram.function_code import CLOCK, COUNTED, REQUEST
from helpers.device.identifiers import Configuration
from helpers.errors import WorkbookError
from helpers.line.station.application import Application

OFF, WAIT_PRM, WAIT_CFG, EXCHANGE = "off", "waiting for parameters", "waiting for configuration", "data exchange"
_DATA, _NEWS = function_code.answer("DL"), function_code.answer("DH")  # low and high priority
_HOLDS = {"Sync_Req": {"Sync", "Unsync"}, "Freeze_Req": {"Freeze", "Unfreeze"}}  # what each bit of Set_Prm opens
_CHANGING = (
    "state", "clear", "address", "master", "parameters", "faults", "outputs", "min_tsdr_bits", "watchdog_s",
    "_received", "_frozen", "_held", "_reported", "_news", "_last", "_answer_to_last",
)  # fmt: skip
# The function of a request that only asks whether somebody is there.
_FDL_STATUS = function_code.request("FDL status") & 0x0F


class DpSlave:
    """One station's bus connection. Times are in seconds of simulated time.

    state: one of the four above. address: the one that it took at power-up. own: its configuration. user_octets: how
    many parameters of its own it takes. offers: the bits of Set_Prm that it can obey; with
    DPV1_Enable the first three of its parameters are those of DPV1. parameters: the last Set_Prm that it accepted.
    min_tsdr_bits: it answers no sooner. faults: Prm_Fault, Cfg_Fault or Not_Supported, if the last start failed.
    watchdog_s, until_s: how long it waits for its controller, and until when. acted: how often it has told its
    application of outputs or of the loss of the bus.
    """

    def __init__(
        self,
        *,
        ident: int,
        own: Configuration,
        address: int,
        application: Application,
        user_octets: int = 0,
        offers: frozenset[str] = frozenset(),
        fixed_address: bool = True,
    ) -> None:
        self.ident, self.own, self.address, self.application = ident, own, address, application
        self.user_octets, self.offers, self.fixed_address = user_octets, offers, fixed_address
        self.min_tsdr_bits = set_prm.MIN_TSDR_BITS
        self.state = OFF
        self.clear = False
        self.master = NO_MASTER
        self.parameters: SetPrm | None = None
        self.faults: frozenset[str] = frozenset()
        self.outputs = b""
        self._received = self._frozen = b""  # the outputs of the last telegram; the inputs that freeze holds
        self._held = Held()
        self.watchdog_s = self.until_s = math.inf
        self._reported: tuple[Block, ...] = ()
        self._news = False
        self.acted = 0
        self._last = self._answer_to_last = b""
        self._plain: dict[bytes, None] = {}  # Data_Exchange requests with the present outputs, one for each frame count
        self._inputs, self._inputs_telegram = b"", b""

    def power_up(self, now_s: float, *, address: int, own: Configuration) -> None:
        """The board gets supply: the settings count, and the station waits for its parameters."""
        self.address, self.own = address, own
        self.state, self.master, self.parameters = WAIT_PRM, NO_MASTER, None
        self.min_tsdr_bits = set_prm.MIN_TSDR_BITS
        self.faults, self._held, self.clear, self._last = frozenset(), Held(), False, b""
        self.watchdog_s = self.until_s = math.inf
        self._forget()
        self._reported = self.application.blocks()

    @property
    def standing(self) -> tuple[object, ...]:
        """All that telegrams can change in it, apart from `until_s` and `acted`."""
        return (*map(self.__dict__.__getitem__, _CHANGING), *self._plain)

    def stand(self, standing: tuple[object, ...]) -> None:
        """Stand as `standing` told."""
        before = self.master, self._news
        self.__dict__.update(zip(_CHANGING, standing, strict=False))
        self._plain = dict.fromkeys(standing[len(_CHANGING) :])  # type: ignore[arg-type]
        if before != (self.master, self._news):
            self._inputs_telegram = b""

    def power_down(self) -> None:
        """Supply, or the board's contact, is gone."""
        if self.state == EXCHANGE:
            self.application.bus_lost()
        self.state, self.until_s = OFF, math.inf
        self._forget()

    def look(self, now_s: float) -> None:
        """Once in a while: has the watchdog run out, is there something new to report?"""
        if now_s > self.until_s:
            self._leave()
        blocks = self.application.blocks()
        if blocks != self._reported:
            self._reported, self._news = blocks, True
            self._forget()

    def answer(self, octets: bytes, now_s: float) -> bytes | None:
        """What the station answers to a telegram that arrived whole in its characters; None: it keeps silent."""
        if now_s > self.until_s:
            self._leave()
        if octets in self._plain:
            self._hear(now_s)
            self._last = octets
            return self.data_answer()
        if self.state == OFF:
            return None
        asked = frames.whole(octets)
        if asked is None or asked.kind in ("SC", "token") or not asked.fc & REQUEST or asked.fc & CLOCK:
            return None
        if asked.receiver == message.EVERYBODY:
            self._everybody(asked)
            return None
        if asked.receiver != self.address:
            return None
        if octets == self._last and asked.fc & COUNTED and self._answer_to_last:
            return self._answer_to_last  # the same frame count again: the controller did not hear the answer
        if asked.sender == self.master:
            self._hear(now_s)
        answer = self._answer(asked, now_s)
        self._last, self._answer_to_last = octets, answer
        return answer

    def diagnosis(self) -> SlaveDiag:
        """What the station says of itself when it is asked."""
        flags = {FIXED, *self.faults}
        if self.state != EXCHANGE:
            flags |= {"Station_Not_Ready"}
        if self.state == WAIT_PRM:
            flags |= {"Prm_Req"}
        if self.watchdog_s < math.inf:
            flags |= {"WD_On"}
        if self._reported:
            flags |= {"Ext_Diag"}
        flags |= {name for name, on in (("Sync_Mode", self._held.sync), ("Freeze_Mode", self._held.freeze)) if on}
        return SlaveDiag(frozenset(flags), self.master, self.ident, self._reported)

    # -- what comes in ------------------------------------------------------------------------------------------------

    def _answer(self, asked: Frame, now_s: float) -> bytes:
        if asked.dsap == frames.ABSENT:
            if asked.kind == "SD1" and asked.fc & 0x0F == _FDL_STATUS:
                return frames.frame(to=asked.sender, sender=self.address, fc=0x00).octets
            return self._exchange(asked)
        service = message.service_at(asked.dsap)
        try:
            if service == "Slave_Diag":
                self._news = False
                self._forget()
                return message.answer(asked, self.diagnosis().octets).octets
            if service == "Get_Cfg":
                return message.answer(asked, self.own.octets).octets
            if service == "Set_Prm":
                self._take_parameters(asked, now_s)
                return message.answer(asked).octets
            if service == "Chk_Cfg":
                self._check_configuration(asked)
                return message.answer(asked).octets
            if service == "Set_Slave_Add" and self._may_move(asked):
                answer = message.answer(asked).octets
                self.address = set_slave_add.decode(asked.user_data).address
                return answer
        except WorkbookError:
            pass  # octets that the service can't have: refused like a service that is not there
        return message.answer(asked, function="RS").octets

    def _may_move(self, asked: Frame) -> bool:
        order = set_slave_add.decode(asked.user_data)
        return not self.fixed_address and self.state == WAIT_PRM and order.ident == self.ident

    def _take_parameters(self, asked: Frame, now_s: float) -> None:
        prm = set_prm.decode(asked.user_data)
        if self.master not in (NO_MASTER, asked.sender):
            return  # it belongs to another master, which its diagnosis tells
        if prm.lock == "only min TSDR":
            self._overwrite(prm)
            return
        if self.state == EXCHANGE:
            self._leave()
        refused = {"Not_Supported"} if prm.flags & _HOLDS.keys() - self.offers else set()
        if refused or prm.ident != self.ident or len(prm.user) != self.user_octets:
            self.faults |= {"Prm_Fault", *refused}
            self.state = WAIT_PRM
            return
        if prm.lock == "released":
            self.state, self.master = WAIT_PRM, NO_MASTER
            return
        self.faults -= {"Prm_Fault", "Cfg_Fault", "Not_Supported"}
        self.parameters, self.master, self.state = prm, asked.sender, WAIT_CFG
        self.min_tsdr_bits = prm.min_tsdr_bits or self.min_tsdr_bits
        self.watchdog_s = prm.watchdog_s(dpv1="DPV1_Enable" in self.offers) or math.inf
        self._hear(now_s)

    def _overwrite(self, prm: SetPrm) -> None:
        """Neither lock nor unlock: min TSDR and the station's own parameters are taken, and nothing else changes."""
        if len(prm.user) not in (0, self.user_octets):
            raise WorkbookError("The number of parameters is not the station's.")
        self.min_tsdr_bits = prm.min_tsdr_bits or self.min_tsdr_bits
        if self.parameters and prm.user:
            self.parameters = replace(self.parameters, user=prm.user)

    def _check_configuration(self, asked: Frame) -> None:
        if self.state == WAIT_PRM:
            raise WorkbookError("Chk_Cfg came before Set_Prm.")
        if chk_cfg.decode(asked.user_data) != self.own:
            self.faults |= {"Cfg_Fault"}
            if self.state == EXCHANGE:
                self._leave()
            self.state, self.master = WAIT_PRM, NO_MASTER
            self.watchdog_s = self.until_s = math.inf
            return
        self.state, self.clear = EXCHANGE, False
        self._held, self._received = Held(), bytes(self.own.bytes_out)
        self._forget()

    def _exchange(self, asked: Frame) -> bytes:
        size = self.own.bytes_out
        if self.state != EXCHANGE or asked.sender != self.master or len(asked.user_data) not in (size, 0):
            return message.answer(asked, function="RS").octets
        sent = asked.user_data or bytes(size)
        self._received = global_control.outputs(self._held, sent, length=size)
        self.clear = self._held.clear
        if not self._held.sync:
            self._put_out()
        if len(self._plain) > 1 or self.outputs != sent:
            self._plain.clear()
        if self.outputs == sent:
            self._plain[asked.octets] = None
        return self.data_answer()

    def _put_out(self) -> None:
        self.acted += 1
        self.outputs = self._received
        self.application.take_outputs(self.outputs)

    def _everybody(self, asked: Frame) -> None:
        if message.service_at(asked.dsap) != "Global_Control" or asked.sender != self.master:
            return
        try:
            command = global_control.decode(asked.user_data)
        except WorkbookError:
            return
        groups, asked_for = (self.parameters.groups, self.parameters.flags) if self.parameters else (frozenset(), ())
        if not global_control.concerns(command, groups):
            return
        closed = set().union(*(commands for flag, commands in _HOLDS.items() if flag not in asked_for))
        command = replace(command, flags=command.flags - closed)
        self._held = global_control.apply(command, self._held, groups=groups)
        self._forget()
        if self.state != EXCHANGE:
            return
        self.clear = self._held.clear
        if self.clear:
            self._received = bytes(self.own.bytes_out)
        if self.clear or command.flags & _HOLDS["Sync_Req"]:
            self._put_out()
        if "Freeze" in command.flags:
            self._frozen = self.application.inputs()

    # -- what goes out ------------------------------------------------------------------------------------------------

    def data_answer(self) -> bytes:
        """The answer to a Data_Exchange, with the inputs of the moment."""
        inputs = self._frozen if self._held.freeze else self.application.inputs()
        if inputs is not self._inputs or not self._inputs_telegram:
            self._inputs = inputs
            code = _NEWS if self._news else _DATA
            if inputs:
                self._inputs_telegram = frames.write(Frame("SD2", self.master, self.address, code, inputs))
            else:
                short = Frame("SD1", self.master, self.address, code) if self._news else Frame("SC")
                self._inputs_telegram = frames.write(short)
        return self._inputs_telegram

    def _hear(self, now_s: float) -> None:
        """The controller has spoken: its watchdog starts anew."""
        self.until_s = now_s + self.watchdog_s

    def _leave(self) -> None:
        was_exchanging = self.state == EXCHANGE
        self.state, self.master, self._held = WAIT_PRM, NO_MASTER, Held()
        self.watchdog_s = self.until_s = math.inf
        self._forget()
        if was_exchanging:
            self.acted += 1
            self.application.bus_lost()

    def _forget(self) -> None:
        """The telegrams kept for speed no longer hold."""
        self._plain.clear()
        self._inputs_telegram = b""
