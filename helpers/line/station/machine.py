"""A motor and the machine it turns, fed by a drive with a frequency.

    speed without load    n0 = 120 · f / poles                                    in rpm
    slip                  n0 − n = rated slip · T / T_rated                       below the breakdown torque
    speed                 dn/dt = n_rated / t_start · (T − T_load) / T_rated
    load                  constant · sign(n) + quadratic · sign(n) · (n / n_rated)² + hang-back
    current               I = √(I0² + (1 − I0²) · T²)                             as parts of the rated values

All torques are parts of the rated torque. t_start is the time in which the rated torque alone brings the unloaded
machine to its rated speed: it holds the inertia. I0 is the current without load. A drive keeps the motor's flux, so
that the slip in rpm belongs to a torque and not to a frequency, and so that the current without load stays.

Source: textbook relations of the induction motor, from memory; the motors are rows of `data/demo/motors.csv`, invented.
Left out: saturation, field weakening above the rated frequency, the ripple of the current.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from math import copysign, exp, hypot, sqrt

from helpers import facts
from helpers.drive.machines import synchronous_speed

_SETTLED_RPM_PER_S = 0.1  # a slower change counts as none
_STANDSTILL_RPM = 1.0


@dataclass(frozen=True)
class Plate:
    """A motor's nameplate and its load. Torques and currents are parts of the rated ones; see the top of the file.

    `constant` and `quadratic` work against the motion, `hang_back` pulls downwards even at standstill; a
    `backstop` lets the machine turn forwards only.
    """

    machine: str
    poles: int
    rated_hz: float
    rated_rpm: float
    breakdown: float
    no_load_current: float
    start_s: float
    constant: float
    quadratic: float
    hang_back: float
    backstop: bool
    meaning: str

    @property
    def slip_rpm(self) -> float:
        """How much slower than its field the motor turns at rated torque, in rpm.

        >>> plate("Intake conveyor").slip_rpm
        50.0
        """
        return synchronous_speed(self.rated_hz, poles=self.poles) - self.rated_rpm


@cache
def plates() -> tuple[tuple[str, Plate], ...]:
    """All motors of the table, each with the words by which a station's name is recognised."""
    return tuple(
        (
            row["station_words"],
            Plate(
                row["machine"],
                row.whole("poles"),
                row.number("rated_hz"),
                row.number("rated_rpm"),
                row.number("breakdown_percent") / 100,
                row.number("no_load_current_percent") / 100,
                row.number("start_s"),
                row.number("constant_percent") / 100,
                row.number("quadratic_percent") / 100,
                row.number("hang_back_percent") / 100,
                row["backstop"] == "yes",
                row["meaning"],
            ),
        )
        for row in facts.rows("demo/motors")
    )


def plate(station: str) -> Plate:
    """The motor for a station, by its name; any name gets one.

    >>> plate("Dryer fan 2").machine, plate("Exhaust fan").machine, plate("Pump").machine
    ('Dryer fan', 'any fan', 'any machine')
    """
    return next(motor for words, motor in plates() if words in station.lower())


@lru_cache(maxsize=1024)
def _decay(time_over_constant: float) -> float:
    return exp(-time_over_constant)


def _within(torque: float, limit: float) -> float:
    """The torque, held at the limit in either direction."""
    return torque if -limit <= torque <= limit else copysign(limit, torque)


class Machine:
    """A motor that turns its load.

    `speed_rpm` is signed, `torque` a part of the rated torque. `blocked` holds the shaft, `uncoupled` takes the load
    away.
    """

    def __init__(self, plate: Plate) -> None:
        self.plate = plate
        self.speed_rpm = 0.0
        self.torque = 0.0
        self.blocked = False
        self.uncoupled = False
        self._slip_rpm = plate.slip_rpm
        self._rpm_per_hz = synchronous_speed(1.0, poles=plate.poles)
        self._rpm_per_s = plate.rated_rpm / plate.start_s
        self._active_current = sqrt(1 - plate.no_load_current * plate.no_load_current)  # at rated torque
        self._fed: tuple[float | None, float, bool, bool] = (None, 0.0, False, False)
        self._settled = True

    @property
    def standstill(self) -> bool:
        """True if the shaft does not turn."""
        return abs(self.speed_rpm) < _STANDSTILL_RPM

    def halt(self) -> None:
        """The machine has come to a stop by itself, long since: time passes for the shaft alone."""
        self.speed_rpm = self.torque = 0.0
        self._settled = False

    def release(self) -> None:
        """The pulses are off from now on: no current, whatever the shaft does until time passes again."""
        self._fed, self._settled = (None, *self._fed[1:]), False

    @property
    def current_percent(self) -> float:
        """The motor's current in % of its rated one; 0 while the pulses are off."""
        if self._fed[0] is None:
            return 0.0
        return 100 * hypot(self.plate.no_load_current, self._active_current * self.torque)

    def advance(self, dt_s: float, frequency_hz: float | None, torque_limit: float) -> bool:
        """Let time pass; True if speed, torque or current have changed.

        Parameters: dt_s in s; frequency_hz, what the drive feeds (None: its pulses are off); torque_limit, the
        most that the drive allows, as a part of the rated torque.
        """
        fed = (frequency_hz, torque_limit, self.blocked, self.uncoupled)
        if self._settled and fed == self._fed:
            return False
        same, self._fed = fed == self._fed, fed
        before = self.speed_rpm
        if frequency_hz is None:
            self._coast(dt_s)
        else:
            self._drive(dt_s, frequency_hz * self._rpm_per_hz, min(torque_limit, self.plate.breakdown))
        self._settled = same and abs(self.speed_rpm - before) < _SETTLED_RPM_PER_S * dt_s
        return True

    def _against(self) -> tuple[float, float]:
        """The torque of friction and air at this speed, without sign, and the one that pulls back in any case."""
        if self.uncoupled:
            return 0.0, 0.0
        plate = self.plate
        share = self.speed_rpm / plate.rated_rpm
        return plate.constant + plate.quadratic * share * share, plate.hang_back

    def _coast(self, dt_s: float) -> None:
        friction, pull = self._against()
        self.speed_rpm = self._moved(-pull, friction, dt_s)
        self.torque = 0.0

    def _drive(self, dt_s: float, field_rpm: float, limit: float) -> None:
        """The torque pulls the speed towards the field's, less the slip: a first-order lag, exact for any step."""
        slip, before = self._slip_rpm, self.speed_rpm
        friction, pull = self._against()
        load = pull + copysign(friction, before or field_rpm - slip * pull)
        moved = (field_rpm - slip * load - before) * (1 - _decay(dt_s * self._rpm_per_s / slip))
        mean = moved / (self._rpm_per_s * dt_s) + load
        self.speed_rpm = self._moved(_within(mean, limit) - pull, friction, dt_s)
        self.torque = _within((field_rpm - self.speed_rpm) / slip, limit)

    def _moved(self, push: float, friction: float, dt_s: float) -> float:
        """The speed after a step under a push; friction can hold or stop a shaft, and never turns it."""
        before = self.speed_rpm
        if self.blocked or (before == 0 and abs(push) <= friction):
            return 0.0
        after = before + (push - copysign(friction, before or push)) * self._rpm_per_s * dt_s
        if after * before < 0:
            return 0.0
        return max(after, 0.0) if self.plate.backstop else after
