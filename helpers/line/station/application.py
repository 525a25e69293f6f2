"""What lives behind a station's bus connection, as its DP slave sees it.

A DP slave knows telegrams, states and its watchdog. What the octets mean, and what turns because of them, is the
matter of the application: a drive with its motor, or a remote I/O. The slave calls it through these six methods.
"""

from __future__ import annotations

from typing import Protocol

from helpers.bus.services.diag_blocks import Block


class Application(Protocol):
    """The station behind its DP slave."""

    def take_outputs(self, octets: bytes) -> None:
        """Output data as they reach the station: from a Data_Exchange, or zeros or fail-safe values of the slave."""

    def bus_lost(self) -> None:
        """The station has left data exchange (watchdog, release, new parameters): react as set."""

    def inputs(self) -> bytes:
        """The input data to answer with. Cheap: worked out anew only after something has changed."""

    def advance(self, dt_s: float) -> None:
        """Simulated time passes, in seconds; called about every 20 ms of it."""

    def blocks(self) -> tuple[Block, ...]:
        """Blocks of the diagnosis, () if there is nothing to report.

        A change makes the slave ask for its diagnosis to be fetched.
        """

    def power_up(self) -> None:
        """Power comes, or comes back: what was not saved is lost, and settings become active."""
