"""A remote I/O: output octets that it puts out, and input octets of which one may count up."""

from __future__ import annotations

from helpers.bus.services.diag_blocks import Block
from helpers.errors import in_range


class RemoteIO:
    """Input and output octets without any meaning of their own.

    outputs: what it puts out. counting: the input octet that counts up, None for none; it shows on an I/O test sheet
    that inputs are fresh.
    """

    def __init__(self, *, inputs: int, outputs: int, counting: int | None = None, every_s: float = 1.0) -> None:
        """Inputs and outputs in octets; every_s, how often the counting octet goes up by 1 [s]."""
        if counting is not None:
            in_range("counting input octet", counting, 0, inputs - 1, source=f"{inputs} input octets")
        self.outputs = bytes(outputs)
        self.counting = counting
        self.every_s = every_s
        self._image = bytes(inputs)
        self._since_s = 0.0

    def put(self, octet: int, value: int) -> None:
        """Set an input octet, 0 to 255."""
        in_range("input octet", octet, 0, len(self._image) - 1, source=f"{len(self._image)} input octets")
        in_range("value", value, 0, 255, source="8 bits")
        if value != self._image[octet]:
            self._image = self._image[:octet] + bytes((value,)) + self._image[octet + 1 :]

    def take_outputs(self, octets: bytes) -> None:
        """Outputs follow at once."""
        self.outputs = octets

    def bus_lost(self) -> None:
        """All outputs go off."""
        self.outputs = bytes(len(self.outputs))

    def inputs(self) -> bytes:
        """The input octets."""
        return self._image

    def advance(self, dt_s: float) -> None:
        """The counting octet goes on."""
        if self.counting is None:
            return
        self._since_s += dt_s
        if self._since_s >= self.every_s:
            steps = int(self._since_s / self.every_s + 1e-9)
            self._since_s -= steps * self.every_s
            self.put(self.counting, (self._image[self.counting] + steps) & 0xFF)

    def blocks(self) -> tuple[Block, ...]:
        """Nothing to report."""
        return ()

    def power_up(self) -> None:
        """Outputs are off, the counter begins at 0; the other inputs stay as they are."""
        self.bus_lost()
        self._since_s = 0.0
        if self.counting is not None:
            self.put(self.counting, 0)
