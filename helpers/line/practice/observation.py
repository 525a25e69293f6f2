"""What the people of a plant see of it: which drives run, stand or drop out, and the controller's light.

They look at shafts and lights for a while and know nothing of faults, telegrams or words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from helpers.line.plant.installation import Installation
from helpers.line.station.drive import DriveApplication
from helpers.line.times import size
from helpers.line.traffic.line import Line

RUNS, STANDS, STOPS_FOR_GOOD, DROPS_OUT = "runs", "stands", "stops for good", "stops and comes back"
DARK, LIT, FLICKERS = "dark", "lit", "comes and goes"


@dataclass(frozen=True)
class Seen:
    """What a drive does: one of the four words above, its usual speed in %, and whether it turns unasked.

    unasked: it turns although the controller is stopped.
    """

    does: str
    percent: int
    unasked: bool = False

    def same(self, other: Seen) -> bool:
        """True if people would say that nothing has changed.

        >>> Seen(RUNS, 60).same(Seen(RUNS, 58)), Seen(RUNS, 60).same(Seen(RUNS, 40))
        (True, False)
        """
        near = abs(self.percent - other.percent) <= size("speed_percent")
        return (self.does, self.unasked) == (other.does, other.unasked) and (near or self.does == STANDS)


@dataclass(frozen=True)
class Observation:
    """What is seen of each drive, by its name, and what the controller's light for bus faults does."""

    drives: tuple[tuple[str, Seen], ...]
    light: str

    def drive(self, name: str) -> Seen | None:
        """What is seen of one drive; None if there is none of that name."""
        return dict(self.drives).get(name)

    def differing(self, usual: Observation) -> tuple[str, ...]:
        """The drives that do something else than usual."""
        before = dict(usual.drives)
        return tuple(name for name, seen in self.drives if name in before and not seen.same(before[name]))

    def same(self, usual: Observation) -> bool:
        """True if everything is as usual."""
        return not self.differing(usual) and self.light == usual.light


def watch(line: Line, *, settle_s: float | None = None) -> Observation:
    """Look at a running line: first while the drives run up, then for a while. Simulated time passes.

    settle_s: how long the drives have to run up [s]; None for the usual time.
    """
    settle_s = size("settle_s") if settle_s is None else settle_s
    drives = [(n, a) for n, a in line.applications.items() if isinstance(a, DriveApplication)]
    early, _ = _looked(line, drives, settle_s)
    late, lights = _looked(line, drives, size("watch_s"))
    stopped = not line.installation.running
    seen = tuple((name, _judged(early[name], late[name], stopped)) for name, _ in drives)
    return Observation(seen, _light(lights))


@lru_cache(8)
def usual(installation: Installation) -> Observation:
    """What is seen of an installation that runs by itself from the moment it is switched on."""
    return watch(Line(installation))


def _looked(
    line: Line, drives: Sequence[tuple[str, DriveApplication]], seconds: float
) -> tuple[dict[str, list[float]], list[bool]]:
    speeds: dict[str, list[float]] = {name: [] for name, _ in drives}
    lights = []
    end_s = line.now_s + seconds
    while line.now_s < end_s:
        line.run(size("look_s"))
        for name, drive in drives:
            speeds[name].append(drive.speed_percent)
        lights.append(any(handler.inputs is None for handler in line.handlers))
    return speeds, lights


def _judged(early: Sequence[float], late: Sequence[float], stopped: bool) -> Seen:
    least = size("turns_percent")
    usual_percent = max(late, key=abs, default=0.0)
    if abs(usual_percent) <= least:
        ran = any(abs(speed) > least for speed in early)
        return Seen(STOPS_FOR_GOOD if ran else STANDS, 0)
    shares = [speed / usual_percent for speed in late]
    came_back, is_low = False, False
    for share in shares:
        if share < size("dip_share"):
            is_low = True
        elif is_low and share >= size("back_share"):
            came_back, is_low = True, False
    # A run-up that ends within the time looks like a return; only what was fast before has come back.
    fell = min(shares, default=1.0) < size("dip_share") and _falls(shares)
    does = DROPS_OUT if came_back and fell else STOPS_FOR_GOOD if is_low and fell else RUNS
    return Seen(does, round(usual_percent), stopped)


def _falls(shares: Sequence[float]) -> bool:
    """True if it was at speed first and low afterwards."""
    first_high = next((n for n, share in enumerate(shares) if share >= size("back_share")), len(shares))
    return any(share < size("dip_share") for share in shares[first_high:])


def _light(lights: Sequence[bool]) -> str:
    if all(lights):
        return LIT
    return FLICKERS if any(lights) else DARK
