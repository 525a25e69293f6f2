"""A line that takes over what it knows by heart comes out, telegram by telegram, as one that works everything out."""

import os
from random import Random

import pytest
from line_nets import demo, row

from helpers.line.faults.catalogue import possible
from helpers.line.instruments.io_sheet import image, write
from helpers.line.plant.build import installation_of
from helpers.line.traffic.line import Line

# What comes and goes, what is started again and again, what collides, what is lost now and then.
KEYS = sorted({chosen.fault.key for chosen in possible(demo())})
DRAWN = KEYS if "WORKBOOK_FUZZ" in os.environ else Random("calm").sample(KEYS, 4)
TRICKY = (
    "loose core",
    "supply drops",
    "fault returns",
    "format differs",
    "duplicate address",
    "stub",
)


def everything(line):
    """All that can be seen of a line, and all that will decide how it goes on."""
    return {
        "time": (line.bits, line.last),
        "recording": list(line.recording),
        "ring": (line.out, line.found),
        "chance": line.random.getstate(),
        "handlers": [(handler.name, vars(handler.counters), handler.standing) for handler in line.handlers],
        "inputs": [handler.inputs for handler in line.handlers],
        "stations": [(slave.standing, slave.until_s, slave.diagnosis()) for slave in line.slaves.values()],
        "plant": [(application.inputs(), application.blocks()) for application in line.applications.values()],
    }


def run_alike(installation, work=lambda line: None):
    """Both ways; how many rotations each of them has worked out."""
    worked_out = []
    lines = [Line(installation, skips=skips) for skips in (True, False)]
    for line in lines:
        worked_out.append([])
        line._rotate = lambda rotate=line._rotate, count=worked_out[-1]: (count.append(1), rotate())
    slow = 1_500_000 / installation.bit_rate  # as many bit times, at any bit rate
    for seconds, recorded in ((1.1, False), (0.2, True), (1e-9, True), (0.7, False), (0.3, True)):
        for line in lines:
            line.recording.on = recorded
            line.run(seconds * slow)
        skipping, plain = map(everything, lines)
        for what, expected in plain.items():
            assert skipping[what] == expected, what
        for line in lines:
            work(line)
    return tuple(map(len, worked_out))


@pytest.mark.parametrize("key", [*TRICKY, *DRAWN])
def test_with_a_fault_the_recording_is_the_same_either_way(key):
    chosen = Random(key).choice([chosen for chosen in possible(demo()) if chosen.fault.key == key])
    run_alike(chosen._replace(seed=Random(key).randrange(99)).put(demo()))


def test_a_healthy_line_leaves_out_most_rotations_and_comes_out_the_same():
    skipping, plain = run_alike(demo())
    assert skipping < plain / 3


@pytest.mark.parametrize(("bit_rate", "watchdog_s"), [(93_750, 0.04), (93_750, 1), (500_000, 0.02), (12_000_000, 1)])
def test_at_any_bit_rate_and_with_a_watchdog_that_runs_out(bit_rate, watchdog_s):
    run_alike(installation_of(row(3, bit_rate, computer=60, watchdog_s=watchdog_s)))


def test_what_people_do_meanwhile_counts_at_once():
    drive = "Dryer fan 1"

    def work(line):
        if line.now_s < 1.2:
            write(line, f"%QW{image(line).stretch(drive, 'out').first_byte}", 0x047E)
        elif line.now_s < 1.5:
            line.change(lambda installation: installation.with_device("Cooling fan", powered=False))
        else:
            line.power_cycle(drive)
            line.slaves["Discharge screw"].min_tsdr_bits = 99

    run_alike(demo(), work)


@pytest.mark.parametrize("noise_v", [0.3, 0.5])
def test_in_noise_chance_falls_the_same_way(noise_v):
    whole = installation_of(row(3, 1_500_000))
    run_alike(whole.with_stretch(0, noise_v=(noise_v,) * len(whole.stretches[0].devices)))
