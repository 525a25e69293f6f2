"""Where each signal of a drive stands in its process data, and the dialogue on parameters, through the drive itself."""

from dataclasses import replace

import pytest
from driven import READY, RUN, STEP_S, make, seconds_until, wait, word

from helpers.device.formats import all_formats, by_name, ppo_types
from helpers.drive.parameters import device_request, parameter_channel
from helpers.drive.parameters.device_request import DeviceRequest
from helpers.drive.scaling import unscale, word_of
from helpers.drive.settings import changed
from helpers.line.station.supervision import constant

LED_BY_SPEED = [f for f in all_formats() if any(w.signal.startswith("NSOLL") for w in f.words_out)]


@pytest.mark.parametrize("form", all_formats(), ids=lambda form: form.name)
def test_every_format_has_its_length(form):
    assert len(make(form.name).inputs()) == form.bytes_in


@pytest.mark.parametrize("form", LED_BY_SPEED, ids=lambda form: form.name)
def test_every_format_with_a_speed_setpoint_leads_the_motor(form):
    """The control word is followed by the setpoint, the status word by the actual value; 32 bits high word first."""
    drive = make(form.name)
    at = next(n for n, one in enumerate(form.words_out) if one.signal == "STW1")
    answer_at = next(n for n, one in enumerate(form.words_in) if one.signal == "ZSW1")
    for control in (READY, RUN):
        octets = bytearray(form.bytes_out)
        octets[2 * at : 2 * at + 4] = control.to_bytes(2, "big") + word_of(40).to_bytes(2, "big")
        drive.take_outputs(bytes(octets))
    wait(drive, 10)
    assert drive.state == "operation"
    assert drive.speed_percent == pytest.approx(40, abs=3)
    assert word(drive.inputs(), answer_at) == drive.status
    assert unscale(word(drive.inputs(), answer_at + 1)).percent == pytest.approx(drive.speed_percent, abs=0.01)


def test_free_words_carry_what_the_lists_say():
    """Parameter 916 is delivered as 2 6 140 0: the third word is the current, further ones are not assigned."""
    drive = running_in("PPO 4")
    octets = drive.inputs()
    assert unscale(word(octets, 2)).percent == pytest.approx(drive.machine.current_percent, abs=0.01)
    assert octets[6:] == bytes(6)


def running_in(form):
    drive = make(form)
    for control in (READY, RUN):
        drive.take_outputs((control << 16 | word_of(60)).to_bytes(4, "big") + bytes(by_name(form).bytes_out - 4))
    return wait(drive, 10)


def test_all_own_signals_can_be_mapped():
    drive = make("Mill 5/8")
    stored = dict(zip(("out", "in"), ([1, 5, 121, 122], [2, 6, 140, 141, 142, 143]), strict=True))
    for number, way in ((915, "out"), (916, "in")):
        wanted = tuple(stored[way])
        drive.store = with_list(drive.store, number, wanted)
    drive.power_up()
    fields = [RUN, word_of(50), word_of(100), 20, 0]
    for control in (READY, RUN):
        drive.take_outputs(b"".join(n.to_bytes(2, "big") for n in (control, *fields[1:])))
    # RAMP_TIME 20: 2.0 s from 0 to 100 %, so 1.0 s to 50 %
    assert seconds_until(drive, lambda d: d.ramp.output_hz == 25) == pytest.approx(1.0, abs=1.5 * STEP_S)
    wait(drive, 5)
    status, actual, current, torque, power, volts = (word(drive.inputs(), n) for n in range(6))
    assert f"{status:04X}" == "0337"
    assert unscale(torque).percent == pytest.approx(55, abs=0.3)
    assert unscale(power).percent == pytest.approx(55 * drive.machine.speed_rpm / 1450, abs=0.3)
    assert unscale(current).percent > unscale(torque).percent
    assert volts == 566  # √2 · 400 V
    assert unscale(actual).percent == pytest.approx(48.2, abs=0.1)


def with_list(store, number, values):
    def put(parameters):
        return tuple(replace(p, values=values) if p.number == number else p for p in parameters)

    return replace(store, parameters=put(store.parameters), saved=put(store.saved))


def ask(drive, request):
    """Put a request of the profile's channel beside a word that keeps the drive where it is; the answer in time."""
    drive.take_outputs(parameter_channel.encode(request) + bytes(drive.form.bytes_out - 8))
    wait(drive, 0.05)
    return parameter_channel.decode(drive.inputs()[:8])


@pytest.mark.parametrize("form", [one.name for one in ppo_types() if one.parameter_channel])
def test_the_channel_answers_and_repeats(form):
    drive = make(form)
    read = parameter_channel.read(110)
    assert ask(drive, read) == parameter_channel.Channel(1, 110, 0, 80)
    assert ask(drive, read) == parameter_channel.Channel(1, 110, 0, 80)  # repeated until the task changes
    assert ask(drive, parameter_channel.Channel(0)).identifier == 0
    assert ask(drive, parameter_channel.read(45)).identifier == parameter_channel.REFUSED


def test_a_written_ramp_time_counts_and_is_lost_unless_saved():
    """Saving: parameter 971 written with 1."""
    drive = make("PPO 1", machine="Discharge screw")
    ask(drive, parameter_channel.Channel(2, 110, 0, 20))
    octets = parameter_channel.encode(parameter_channel.Channel(0))
    for control in (READY, RUN):
        drive.take_outputs(octets + (control << 16 | word_of(100)).to_bytes(4, "big"))
    assert seconds_until(drive, lambda d: d.ramp.output_hz == 50) == pytest.approx(2.0, abs=1.5 * STEP_S)
    drive.power_up()
    assert drive.store[110].values == (80,)
    ask(drive, parameter_channel.Channel(2, 110, 0, 20))
    ask(drive, parameter_channel.Channel(2, 971, 0, 1))
    drive.power_up()
    assert drive.store[110].values == (20,)


def test_what_can_only_be_changed_at_standstill_is_refused_while_running():
    drive = make("PPO 1")
    octets = parameter_channel.encode(parameter_channel.Channel(2, 113, 0, 4000))
    for control in (READY, RUN):
        drive.take_outputs(bytes(8) + (control << 16 | word_of(50)).to_bytes(4, "big"))
    wait(drive, 1)
    drive.take_outputs(octets + (RUN << 16 | word_of(50)).to_bytes(4, "big"))
    wait(drive, 1)
    assert parameter_channel.decode(drive.inputs()[:8]).identifier == parameter_channel.REFUSED


def test_an_old_answer_stands_until_the_new_one_is_ready():
    drive = make("PPO 1")
    ask(drive, parameter_channel.read(110))
    drive.take_outputs(parameter_channel.encode(parameter_channel.read(111)) + bytes(4))
    assert parameter_channel.decode(drive.inputs()[:8]).number == 110
    wait(drive, constant("parameter_work_s"))
    assert parameter_channel.decode(drive.inputs()[:8]).value == 120


def own_words(request):
    return bytes(4) + b"".join(n.to_bytes(2, "big") for n in device_request.encode(request))


def test_the_drives_own_fields():
    drive = make("Mill 7/8 request")

    def answer():
        return device_request.decode_answer(tuple(word(drive.inputs(), n) for n in range(3, 8)))

    drive.take_outputs(own_words(DeviceRequest(7, device_request.READ, 110)))
    assert answer().result == device_request.WORKING
    wait(drive, 0.02)
    assert (answer().count, answer().result, answer().value) == (7, device_request.DONE, 80)
    drive.take_outputs(own_words(DeviceRequest(7, device_request.WRITE, 110, 30)))  # the same count: no new request
    wait(drive, 0.02)
    assert drive.store[110].values == (80,)
    drive.take_outputs(own_words(DeviceRequest(8, device_request.WRITE_AND_STORE, 110, 30)))
    wait(drive, 0.02)
    drive.power_up()
    assert drive.store[110].values == (30,)


def test_the_address_can_be_set_at_the_panel_and_over_the_bus():
    drive = make("PPO 1")
    assert ask(drive, parameter_channel.read(918)).value == 10
    drive.settings = changed(drive.settings, "address", 33)
    assert drive.settings.active.address == 10
    drive.power_up()
    assert ask(drive, parameter_channel.read(918)).value == drive.settings.active.address == 33
    ask(drive, parameter_channel.Channel(2, 918, 0, 44))
    drive.power_up()
    assert drive.settings.active.address == 33  # not saved
    ask(drive, parameter_channel.Channel(2, 918, 0, 44))
    ask(drive, parameter_channel.Channel(2, 971, 0, 1))
    drive.power_up()
    assert drive.settings.active.address == 44


def test_a_new_data_format_counts_after_power_up():
    drive = make("PPO 3")
    drive.settings = changed(drive.settings, "data_format", "PPO 2")
    assert len(drive.inputs()) == 4
    drive.power_up()
    assert len(drive.inputs()) == 20
