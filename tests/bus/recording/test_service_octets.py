"""What is picked out of pasted octets is what was put into the telegrams."""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.recording.service_octets import Found, service_data
from helpers.bus.recording.telegram_meaning import ANSWER, REQUEST
from helpers.bus.services import message
from helpers.errors import Unreadable, WorkbookError

# ABB FPBA-01 manual p.76, as printed there.
PUBLISHED = bytes.fromhex(facts.where("published/bus_services", service="Set_Prm")[0]["octets"])


def telegrams(data, to=12):
    asked = message.request("Set_Prm", to=to, sender=1, data=data, count="counted, 1")
    return asked.octets + message.answer(asked).octets


def test_octets_alone_are_the_data_themselves():
    assert service_data(PUBLISHED, "Set_Prm", REQUEST) == (Found(-1, PUBLISHED),)


def test_a_telegram_and_several_of_them():
    assert service_data(telegrams(PUBLISHED), "Set_Prm", REQUEST) == (Found(12, PUBLISHED),)
    both = telegrams(PUBLISHED) + telegrams(PUBLISHED[::-1], 5)
    assert service_data(both, "Set_Prm", REQUEST) == (Found(12, PUBLISHED), Found(5, PUBLISHED[::-1]))


def test_the_answer_names_the_station_that_sent_it():
    asked = message.request("Slave_Diag", to=7, sender=1, count="counted, 1")
    answer = message.answer(asked, bytes.fromhex("020500FFFFF1"))
    found = service_data(asked.octets + answer.octets, "Slave_Diag", ANSWER)
    assert found == (Found(7, bytes.fromhex("020500FFFFF1")),)
    assert service_data(answer.octets, "Slave_Diag", ANSWER) == found


def test_telegrams_without_the_service_are_refused_in_words():
    with pytest.raises(Unreadable, match="Chk_Cfg"):
        service_data(telegrams(PUBLISHED), "Chk_Cfg", REQUEST)


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=40), st.binary(max_size=20))
def test_any_octets_give_an_answer_or_the_projects_own_error(rubbish, more):
    with contextlib.suppress(WorkbookError):
        assert service_data(rubbish + telegrams(PUBLISHED) + more, "Set_Prm", REQUEST)
