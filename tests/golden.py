"""One check for published octets: they must decode to the values printed, and encode back to the same octets."""

from collections.abc import Callable
from typing import TypeVar

Value = TypeVar("Value")


def octets(text: str) -> bytes:
    """Octets as printed in a manual: `13 9A 00 65`."""
    return bytes.fromhex(text)


def both_ways(
    printed: str | bytes,
    value: Value,
    *,
    decode: Callable[[bytes], Value],
    encode: Callable[[Value], bytes],
) -> None:
    """Assert that `printed` decodes to `value` and `value` encodes to `printed`; differences show as hex."""
    golden = octets(printed) if isinstance(printed, str) else printed
    assert decode(golden) == value
    assert encode(value).hex(" ").upper() == golden.hex(" ").upper()
