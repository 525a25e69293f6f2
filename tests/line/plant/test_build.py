"""From a plan to an installation: what a station's device description tells is what the line is built with."""

from dataclasses import replace

import pytest

from helpers.device.description.read import read_description
from helpers.device.formats import configuration
from helpers.errors import OutOfRange, Unknown
from helpers.facts import DATA
from helpers.line.plant.build import installation_of
from helpers.line.station.dp_slave import EXCHANGE, WAIT_PRM
from helpers.line.traffic.line import Line
from helpers.plan.check import check_network
from helpers.plan.read import read_plan
from helpers.plan.rows import exchanges_in, io_stations_in

FAN = "Cooling fan"  # invented, as all of the demo site


def mill(**changes):
    """The demo site, with something else written in the fan's row of the plan."""
    network = read_plan(DATA / "demo/saltmarsh-mill").networks[0]
    segments = tuple(
        replace(s, plugs=tuple(replace(one, **changes) if one.name == FAN else one for one in s.plugs))
        for s in network.segments
    )
    return replace(network, segments=segments)


def fan_after_half_a_second(network):
    line = Line(installation_of(network))
    line.run(0.5)
    return line.handler(FAN), line.slaves[FAN].state


def test_ident_number_bit_rates_and_own_parameters_come_from_the_description():
    installation = installation_of(mill())
    file = read_description(DATA / "demo/descriptions/Mil_FFF1.gsd")
    device, configured = installation.device(FAN), installation.edited.station(FAN)
    assert device.ident == configured.ident == file.ident
    assert device.rates == set(file.bit_rates) and 1.5e6 in device.rates
    # Seven octets by the description's defaults, as its own text says: data/demo/descriptions/Mil_FFF1.gsd.
    assert configured.user == bytes.fromhex("00 00 00 81 00 64 00")
    assert device.user_octets == 7
    assert fan_after_half_a_second(mill())[1] == EXCHANGE


def test_two_types_of_drive_have_each_their_own_ident_number():
    installation = installation_of(mill())
    assert installation.device("Dust filter valve").ident == 0xFFF2
    assert len(installation.edited.station("Dust filter valve").user) == 2


def test_a_station_that_shows_another_ident_number_than_its_description_does_not_take_its_parameters():
    handler, state = fan_after_half_a_second(mill(ident=0xFFF9))
    assert state == WAIT_PRM
    assert "Prm_Fault" in handler.diagnosis.flags and handler.diagnosis.ident == 0xFFF9


def test_a_station_whose_description_lacks_the_bit_rate_is_not_heard():
    network = mill()
    installation = installation_of(network)
    slow = installation.with_device(FAN, rates=installation.device(FAN).rates - {network.bit_rate})
    line = Line(slow)
    line.run(0.5)
    assert not line.handler(FAN).diagnosis.flags - {"Station_Non_Existent"} and line.slaves[FAN].state == WAIT_PRM


@pytest.mark.parametrize("description", ["", "nowhere.gsd"])
def test_without_a_description_that_can_be_read_the_plan_says_what_it_can(description):
    installation = installation_of(mill(description=description))
    device, configured = installation.device(FAN), installation.edited.station(FAN)
    assert (device.ident, configured.ident, device.user_octets, configured.user) == (0xFFF1, 0xFFF1, 0, b"")
    assert not device.rates  # all of them
    assert installation_of(mill(description=description, ident=0x1234)).device(FAN).ident == 0x1234


@pytest.mark.parametrize(
    ("drive", "controller", "exchanges"),
    [
        ("PPO 4", "PPO 4", True),
        ("F3 F1", "PPO 1", True),  # octets of PPO 1: data/ppo_types.csv
        ("f3f1", "16#F3 16#F1", True),
        ("F3 F4", "F3 F4", True),  # of no named format
        ("12/12", "12 / 12 bytes", True),
        ("PPO 4", "12/12", True),  # bytes alone say no identifiers; the other side's hold
        ("12/12", "F5", True),
        ("", "12/12", True),
        ("12/12", "12/10", False),
        ("PPO 4", "PPO 1", False),  # as long, and other identifiers
    ],
)
def test_the_bench_the_check_and_the_cycle_read_a_format_alike(drive, controller, exchanges):
    network = mill(format_drive=drive, format_controller=controller, description="")
    found = [f for f in check_network(network) if f.place == FAN]
    assert not [f for f in found if f.rule == "known format"]
    assert any(f.degree.forbidden for f in found if f.rule == "same format") != exchanges
    stated = configuration(controller)
    (cycle,) = exchanges_in([(FAN, controller)])
    assert (cycle.outputs, cycle.inputs) == (stated.bytes_out, stated.bytes_in)
    (listed,) = io_stations_in([(FAN, controller, "12", "", "")])
    assert (listed.format.bytes_out, listed.format.bytes_in) == (stated.bytes_out, stated.bytes_in)
    line = Line(installation_of(network))
    line.run(1)
    handler = line.handler(FAN)
    assert (line.slaves[FAN].state == EXCHANGE) == exchanges
    assert (len(handler.outputs), handler.configured.configuration.bytes_in) == (stated.bytes_out, stated.bytes_in)
    if exchanges:
        drive_itself = line.applications[FAN]
        assert drive_itself.speed_percent > 1, "the program's control word reaches the drive"


def test_an_unknown_format_is_refused_by_the_name_of_the_station():
    for sides in ({"format_controller": "wide"}, {"format_drive": "wide"}):
        with pytest.raises(Unknown, match=f"{FAN}: 'wide' is no format"):
            installation_of(mill(**sides))
    with pytest.raises(OutOfRange, match=f"{FAN}: output is 3 bytes; a drive exchanges whole words of 2 bytes"):
        installation_of(mill(format_controller="3/4", format_drive="3/4"))
    with pytest.raises(OutOfRange, match=f"{FAN}: .*300"):
        installation_of(mill(format_controller="300/4", format_drive="300/4"))
    with pytest.raises(Unknown, match=f"{FAN}: no format is stated"):
        installation_of(mill(format_controller="", format_drive=""))
    with pytest.raises(Unknown, match="no controller"):
        network = mill()
        installation_of(replace(network, segments=(replace(network.segments[1]),)))
