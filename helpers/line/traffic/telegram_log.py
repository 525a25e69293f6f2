"""A recording of the telegrams on the practice line, in bounded memory, in the form that the telegram reader takes."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from itertools import islice
from typing import NamedTuple

MOST_TELEGRAMS = 200_000


class Heard(NamedTuple):
    """One telegram at the controller's plug: when it began [bit times], its octets, and whether it came whole."""

    at_bits: float
    octets: bytes
    whole: bool


class Recording:
    """Keeps the last telegrams while it is on. `lost` counts those that had to make room."""

    def __init__(self, most: int = MOST_TELEGRAMS) -> None:
        self.on = False
        self.lost = 0
        self._kept: deque[Heard] = deque(maxlen=most)

    def __len__(self) -> int:
        return len(self._kept)

    def __iter__(self) -> Iterator[Heard]:
        return iter(self._kept)

    @property
    def noted(self) -> int:
        """How many were taken down since it was cleared."""
        return len(self._kept) + self.lost

    def last(self, count: int) -> list[Heard]:
        """The last telegrams, the oldest of them first.

        >>> book = Recording(); book.note(0, b"one", True); book.note(100, b"two", True)
        >>> [heard.octets for heard in book.last(1)]
        [b'two']
        """
        return list(islice(reversed(self._kept), count))[::-1]

    def note(self, at_bits: float, octets: bytes, whole: bool) -> None:
        """Take down one telegram; the oldest makes room if there are too many."""
        self.lost += len(self._kept) == self._kept.maxlen
        self._kept.append(Heard(at_bits, octets, whole))

    def clear(self) -> None:
        """Forget everything that was taken down."""
        self._kept.clear()
        self.lost = 0

    @property
    def octets(self) -> bytes:
        """All telegrams one after the other, for `helpers.bus.recording.telegram_meaning.read`."""
        return b"".join(heard.octets for heard in self._kept)

    def text(self, bit_rate: float) -> str:
        """The recording as text: the time of each telegram [s] and its octets, for `recording_text.read`.

        >>> book = Recording(); book.note(1500, bytes.fromhex("DC0101"), True)
        >>> book.text(1_500_000)
        '0.001000 s  DC 01 01'
        """
        return "\n".join(f"{heard.at_bits / bit_rate:.6f} s  {heard.octets.hex(' ').upper()}" for heard in self._kept)
