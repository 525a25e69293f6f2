"""A list of addresses as people write or paste it, with names, and the count of stations by group.

One station a line, or several with commas between them. The address stands first, or after `=`, `:` or a tab:
`10 dryer fan 1`, `dryer fan 1 = 10`. What has no address (a repeater) may stand in the list with a dash.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from helpers.bus.address.address import HIGHEST, LAST_USABLE, Holder
from helpers.errors import Unreadable, in_range
from helpers.written import whole

# Twice as many lines as there are addresses: a list may be wrong, but not a novel.
MOST_LINES = 2 * (HIGHEST + 1)
_NO_ADDRESS = ("-", "–", "—", "none")
_SIGNED = r"[\t=:]"
_CONTROLLERS = ("controller", "master")
_COMPUTERS = ("engineering", "service computer")


def read_list(text: str) -> tuple[Holder, ...]:
    r"""The stations of a list in their order; without a name a station is called `line 3`.

    The kind is taken from the name: `controller` or `master`, `engineering`, and a drive for all others.
    An address may be any whole number; `helpers.bus.address.address.check` says what is wrong with it.
    Raises `Unreadable` for an entry in which no address can be told from the name, naming the entry, and for
    an empty list; `OutOfRange` for a list longer than any network.

    >>> [(h.name, h.address) for h in read_list("1 controller, 16#0A fan\nscrew = 11")]
    [('controller', 1), ('fan', 10), ('screw', 11)]
    """
    entries = [entry.strip() for entry in re.split(r"[\n,;]", text) if entry.strip()]
    in_range("number of lines", len(entries), 0, MOST_LINES, source="twice the addresses of a network")
    found = [holder for n, entry in enumerate(entries, 1) if (holder := _holder(entry, n))]
    if not found:
        raise Unreadable("the list holds no address; write for example 10 dryer fan 1, each station on its own line.")
    return tuple(found)


def _holder(entry: str, number: int) -> Holder | None:
    """The station of one entry; None for one that says it has no address."""
    parts = [part.strip() for part in re.split(_SIGNED, entry)]
    if len(parts) == 1:
        parts = [part.strip() for part in entry.split(maxsplit=1)]
        addresses = [part for part in parts[:1] if _is_address(part)]
    else:
        addresses = [part for part in parts if _is_address(part)]
    if len(addresses) != 1:
        raise Unreadable(
            f"entry {number}, {entry[:40]!r}: which number is the address? Write the address first, as in "
            "10 dryer fan 1, or after =, as in dryer fan 1 = 10; a dash if there is none."
        )
    if addresses[0] in _NO_ADDRESS:
        return None
    parts.remove(addresses[0])
    name = " ".join(filter(None, parts)) or f"line {number}"
    return Holder(name, _kind(name), whole(addresses[0]))


def _is_address(written: str) -> bool:
    if written in _NO_ADDRESS:
        return True
    try:
        whole(written)
    except Unreadable:
        return False
    return True


def _kind(name: str) -> str:
    said = name.casefold()
    if any(word in said for word in _COMPUTERS):
        return "engineering computer"
    return "controller" if any(word in said for word in _CONTROLLERS) else "drive"


def write_list(holders: Sequence[Holder]) -> str:
    """The list as `read_list` reads it, one station a line.

    >>> write_list([Holder("fan", "drive", 10)])
    '10 fan'
    """
    return "\n".join(f"{holder.address} {holder.name}" for holder in holders)


def runs(addresses: Sequence[int]) -> str:
    """Addresses in short: runs of three or more as `10 to 14`.

    >>> runs([1, 10, 11, 12, 20, 21])
    '1, 10 to 12, 20, 21'
    """
    parts: list[list[int]] = []
    for address in sorted(set(addresses)):
        if parts and address == parts[-1][-1] + 1:
            parts[-1].append(address)
        else:
            parts.append([address])
    return ", ".join(f"{p[0]} to {p[-1]}" if len(p) > 2 else ", ".join(map(str, p)) for p in parts)


def read_groups(text: str) -> dict[str, int]:
    r"""The groups of a new line with their number of stations: `intake 2`, `intake = 2` or `2 × intake` a line.

    Raises `Unreadable` for a line without a name or a count, or a name given twice; `OutOfRange` for a
    count that no network has.

    >>> read_groups("intake 2\n3 × dryer")
    {'intake': 2, 'dryer': 3}
    """
    groups: dict[str, int] = {}
    for entry in (part.strip() for part in re.split(r"[\n,;]", text)):
        if not entry:
            continue
        found = re.fullmatch(r"(\d+)\s*[×x*]\s*(?P<name>.+)", entry) or re.fullmatch(
            rf"(?P<name>.*?[^\s\d=:])\s*(?:{_SIGNED}|\s)\s*(\d+)", entry
        )
        if not found:
            raise Unreadable(
                f"{entry[:40]!r} is no group; write its name and its number of stations, as in dryer fans 3."
            )
        name, count = found["name"].strip(), whole(next(part for part in found.groups() if part.isdecimal()))
        in_range(f"number of stations in {name!r}", count, 1, LAST_USABLE, source="addresses 1 to 125")
        if name in groups:
            raise Unreadable(f"the group {name!r} stands there twice; give each group its own name.")
        groups[name] = count
    if not groups:
        raise Unreadable("no group is given; write for example dryer fans 3, each group on its own line.")
    return groups
