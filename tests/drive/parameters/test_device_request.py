"""The demo drive's own request and answer fields: invented, so checked against its own tables and for losses."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.parameters import device_request
from helpers.drive.parameters import parameter_store as store
from helpers.drive.parameters.device_request import DeviceAnswer, DeviceRequest, request_answer
from helpers.errors import OutOfRange, Unreadable

DEMO = store.demo_store()
RUNNING = store.Store(DEMO.parameters, DEMO.saved, running=True)
NO_RIGHTS = store.Store(DEMO.parameters, DEMO.saved, rights=False)


def test_the_fields_are_those_of_the_data_format():
    (row,) = facts.where("demo/device_formats", name="Mill 7/8 request")
    assert row["words_out"].split()[2:] == list(device_request.fields("out"))
    assert row["words_in"].split()[3:] == list(device_request.fields("in"))


def test_fields_read_and_write():
    request = DeviceRequest(1, device_request.READ, 121)
    answer, _ = device_request.respond(DEMO, request)
    assert answer.value == 0x100000000 - 70000
    assert device_request.explain(request, answer).startswith("Result 1: done. Parameter 121 is")
    written, after = device_request.respond(DEMO, DeviceRequest(2, device_request.WRITE, 110, 60))
    assert (written.result, written.value) == (1, 60)
    assert device_request.respond(store.power_cycle(after), DeviceRequest(3, 1, 110))[0].value == 80
    _, kept = device_request.respond(DEMO, DeviceRequest(4, device_request.WRITE_AND_STORE, 110, 60))
    assert device_request.respond(store.power_cycle(kept), DeviceRequest(5, 1, 110))[0].value == 60


@pytest.mark.parametrize(
    ("request_", "drive", "result"),
    [
        (DeviceRequest(1, 1, 45), DEMO, device_request.NO_SUCH),
        (DeviceRequest(1, 2, 120, 5), DEMO, device_request.READ_ONLY),
        (DeviceRequest(1, 2, 110, 0), DEMO, device_request.OUT_OF_RANGE),
        (DeviceRequest(1, 2, 922, 2), RUNNING, device_request.NOT_RUNNING),
        (DeviceRequest(1, 2, 110, 60), NO_RIGHTS, device_request.READ_ONLY),
        (DeviceRequest(1, 9, 110), DEMO, device_request.UNKNOWN_TASK),
        (DeviceRequest(1, 0, 110), DEMO, 0),
    ],
)
def test_results(request_, drive, result):
    answer, after = device_request.respond(drive, request_)
    assert answer.result == result
    assert after == drive
    assert device_request.codes("ANS_RESULT")[result] in device_request.explain(request_, answer)


def test_an_old_answer_can_be_told_by_its_number():
    request = DeviceRequest(8, device_request.READ, 110)
    assert "old answer" in device_request.explain(request, DeviceAnswer(7, 1, 110, 80))
    assert "Wait" in device_request.explain(request, DeviceAnswer(8, 2, 110))
    assert "not in the drive's list" in device_request.explain(request, DeviceAnswer(8, 99))


WORD = st.integers(0, 0xFFFF)
FIVE = st.tuples(*[WORD] * 5)


@given(FIVE)
def test_fields_survive_their_words(words):
    assert device_request.encode(device_request.decode_request(words)) == words
    assert device_request.encode(device_request.decode_answer(words)) == words
    answer, _ = device_request.respond(DEMO, device_request.decode_request(words))
    assert answer.count == words[0]


def test_fields_refused():
    with pytest.raises(Unreadable, match="REQ_COUNT"):
        device_request.decode_request((1, 2))
    with pytest.raises(Unreadable, match="ANS_VALUE_LOW"):
        device_request.decode_answer((1, 2, 3, 4, 5, 6))
    with pytest.raises(OutOfRange):
        device_request.encode(DeviceRequest(0x10000, 1))


def own(before, count, **asked):
    return request_answer(before=before, count=count, **asked)


def test_the_running_number_decides_whether_the_drive_acts():
    assert "Parameter 110 is 95" in own(6, 7, task=2, number=110, value=95, running=False).sentence
    same = own(7, 7, task=2, number=110, value=95, running=False)
    assert "does nothing" in same.sentence and "numbers agree" in same.pictures[0].says
    assert "not while running" in own(6, 7, task=2, number=112, value=-100, running=True).sentence
    assert "no such parameter" in own(6, 7, task=1, number=5, value=0, running=False).sentence


def test_the_sign_that_a_double_word_lost_is_told():
    answer = own(6, 7, task=2, number=121, value=-70000, running=False)
    assert "With its sign the value is -70000" in answer.because
