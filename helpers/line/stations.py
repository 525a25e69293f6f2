"""Makes what lives behind a station's bus connection, and brings changed settings to it."""

from __future__ import annotations

from helpers.bus.services.diag_blocks import Block
from helpers.line.application import Application
from helpers.line.installation import Device


class _Still:
    """A station that does nothing with its outputs and whose inputs are zeros."""

    def __init__(self, size: int) -> None:
        self._inputs = bytes(size)

    def take_outputs(self, octets: bytes) -> None:
        """Nothing happens."""

    def bus_lost(self) -> None:
        """Nothing happens."""

    def inputs(self) -> bytes:
        """Zeros."""
        return self._inputs

    def advance(self, dt_s: float) -> None:
        """Nothing happens."""

    def blocks(self) -> tuple[Block, ...]:
        """Nothing to report."""
        return ()

    def power_up(self) -> None:
        """Nothing happens."""


def make(device: Device) -> Application:
    """The application of a device."""
    return _Still(device.configuration.bytes_in)


def adapt(application: Application, device: Device) -> None:
    """Bring to an application what has changed in its device."""
