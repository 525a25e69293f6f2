"""The device descriptions that the stations of a plan name: where such a file is found, and what is in it.

A file is looked for beside the plan, that is in the folder of its tables, in the folder of its workbook, or among the
files uploaded with it; then among the demo descriptions of the workbook. Capitals in its name do not matter.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path

from helpers import facts
from helpers.device.description.model import Description
from helpers.device.description.read import ENDINGS, MOST_BYTES, read_description
from helpers.errors import Unreadable, WorkbookError
from helpers.files import read_bounded
from helpers.plan.model import DescriptionFile, Network, Plan, Station

_DEMO = facts.DATA / "demo" / "descriptions"


def is_description(name: str) -> bool:
    """True if a file name ends as that of a device description, in any language.

    >>> is_description("Mil_FFF1.GSD"), is_description("Mil_FFF1.gsg"), is_description("stations.csv")
    (True, True, False)
    """
    return name.lower().endswith(ENDINGS)


def with_descriptions(plan: Plan, source: str | Path | Mapping[str, bytes]) -> Plan:
    """The plan with those files beside it that its stations name; `source` as for `read_plan`."""
    named = {_key(station.description) for network in plan for station in network.stations if station.description}
    files = _beside(source, named)
    return replace(plan, networks=tuple(_with(network, files) for network in plan))


def _with(network: Network, files: list[DescriptionFile]) -> Network:
    named = {_key(station.description) for station in network.stations}
    return replace(network, descriptions=tuple(file for file in files if _key(file.name) in named))


def _beside(source: str | Path | Mapping[str, bytes], named: set[str]) -> list[DescriptionFile]:
    def is_asked(name: str) -> bool:
        return is_description(name) and _key(name) in named

    if isinstance(source, Mapping):
        return [DescriptionFile(name, content) for name, content in source.items() if is_asked(name)]
    folder = Path(source) if Path(source).is_dir() else Path(source).parent
    files = (path for path in sorted(folder.iterdir()) if is_asked(path.name) and path.is_file())
    return [DescriptionFile(path.name, read_bounded(path, MOST_BYTES)) for path in files]


def description_of(network: Network, station: Station) -> Description | None:
    """The description that a station names; None if it names none.

    Errors: `Unreadable` if there is no such file, or if it is no device description.
    """
    if not station.description:
        return None
    wanted = _key(station.description)
    file = next((file for file in network.descriptions if _key(file.name) == wanted), None) or _demo().get(wanted)
    if file is None:
        raise Unreadable(f"{station.description[:60]!r} stands neither beside the plan nor among the demo descriptions")
    found = _read(file)
    if isinstance(found, WorkbookError):
        raise Unreadable(str(found).rstrip("."))
    return found


@lru_cache(maxsize=32)
def _read(file: DescriptionFile) -> Description | WorkbookError:
    """Read once, though many stations name it: a refusal is kept like a description."""
    try:
        return read_description(file.content, file.name)
    except WorkbookError as error:
        return error


@cache
def _demo() -> dict[str, DescriptionFile]:
    files = (path for path in sorted(_DEMO.iterdir()) if path.is_file())
    return {_key(path.name): DescriptionFile(path.name, path.read_bytes()) for path in files}


def _key(name: str) -> str:
    """The name of a file alone, without its folder and without capitals."""
    return re.split(r"[\\/]", name.strip())[-1].casefold()
