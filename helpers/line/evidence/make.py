"""Makes the table of evidence of a plan's network: every fault at every place in every size, in several processes."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from functools import partial
from multiprocessing import get_context

from helpers.errors import WorkbookError
from helpers.line.evidence.observe import Observed, observed
from helpers.line.evidence.sizes import sizes
from helpers.line.evidence.table import SHIPPED, Evidence, Key, evidence_of, kept_at, key_of
from helpers.line.faults.fault import Chosen
from helpers.line.plant.build import installation_of
from helpers.line.plant.installation import Installation
from helpers.plan.model import Plan
from helpers.plan.my_networks import demo_network

# Shows how far something is: the share that is done, and what is being done.
Progress = Callable[[float, str], object]

_AT_ONCE = 6  # faults that a process is handed in one go


def make_evidence(plan: Plan, progress: Progress = lambda share, words: None) -> tuple[Evidence, ...]:
    """Make and keep the table of each network of a plan that has none yet.

    A network that can't run on the line, such as one without a controller, gets none. Raises what `progress` raises,
    so it can stop the work; nothing is kept then.
    """
    made = []
    for network in plan.networks:
        try:
            installation = installation_of(network)
        except WorkbookError:
            continue
        found = evidence_of(installation)
        if not found.complete:
            words = f"evidence for {network.name}"
            found = made_anew(installation, partial(_told, progress, words))
            found.save(kept_at(installation))
            progress(1.0, "evidence is made")
        made.append(found)
    return tuple(made)


def make_shipped(progress: Progress = lambda share, words: None) -> Evidence:
    """Make the table of the demo site anew, as it is shipped."""
    installation = installation_of(demo_network())
    made = made_anew(installation, partial(_told, progress, "evidence for the demo site"))
    made.save(SHIPPED)
    return made


def _told(progress: Progress, words: str, share: float) -> None:
    progress(share, words)


def made_anew(
    installation: Installation,
    progress: Callable[[float], object] = lambda share: None,
    *,
    processes: int | None = None,
    faults: Sequence[Chosen] | None = None,
) -> Evidence:
    """Make the table of an installation, or that part of it which these faults are. progress: told the share done."""
    found = Evidence(installation)
    found.usual = observed(installation, installation)
    chosen = tuple(found.all if faults is None else faults)
    by_key = {key_of(each): each for each in chosen}
    for done, (key, several) in enumerate(_tried(installation, chosen, processes or os.cpu_count() or 1), 1):
        found.put(by_key[key], several)
        progress(done / len(chosen))
    return found


def _tried(
    installation: Installation, chosen: Sequence[Chosen], processes: int
) -> Iterator[tuple[Key, tuple[Observed, ...]]]:
    """Each fault in all its sizes, in the order in which they get ready."""
    if processes == 1:
        yield from _several(installation, [key_of(each) for each in chosen])
        return
    keys = [key_of(each) for each in chosen]
    packs = [keys[at : at + _AT_ONCE] for at in range(0, len(keys), _AT_ONCE)]
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        waiting = {pool.submit(_several, installation, pack) for pack in packs}
        try:
            while waiting:
                ready, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                for pack in ready:
                    yield from pack.result()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def _several(installation: Installation, keys: Sequence[Key]) -> list[tuple[Key, tuple[Observed, ...]]]:
    places = {key_of(each): each for each in Evidence(installation).all}
    return [(key, tried(installation, places[key])) for key in keys]


def tried(installation: Installation, chosen: Chosen) -> tuple[Observed, ...]:
    """What a fault lets the instruments say, in each of its sizes."""
    return tuple(observed(each, installation) for each in sizes(installation, chosen))
