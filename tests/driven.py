"""A drive of the practice line for tests: made, led by words, given time."""

import itertools

from helpers.drive.parameters.parameter_store import demo_store
from helpers.drive.scaling import word_of
from helpers.drive.settings import handed_over
from helpers.line.station.drive import DriveApplication
from helpers.line.station.machine import Machine, plate

STEP_S = 0.01
READY, RUN, OFF2, OFF3, ACKNOWLEDGE = 0x047E, 0x047F, 0x047D, 0x047B, 0x04FE


def make(data_format="PPO 3", machine="Intake conveyor", on_loss="fault", **more):
    settings = handed_over(address=10, data_format=data_format, on_loss=on_loss)
    return DriveApplication(settings, None, demo_store(), Machine(plate(machine)), **more)


def send(drive, word, percent=0.0):
    drive.take_outputs(word.to_bytes(2, "big") + word_of(percent).to_bytes(2, "big"))


def wait(drive, seconds):
    for _ in range(round(seconds / STEP_S)):
        drive.advance(STEP_S)
    return drive


def running(percent=60.0, **more):
    drive = make(**more)
    send(drive, READY)
    send(drive, RUN, percent)
    return wait(drive, 15)


def seconds_until(drive, reached):
    for n in itertools.count():
        if reached(drive):
            return n * STEP_S
        assert n < 20_000
        drive.advance(STEP_S)


def word(octets, n=0):
    return int.from_bytes(octets[2 * n : 2 * n + 2], "big")
