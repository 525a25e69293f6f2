"""The drive's answers over the cyclic channel and by acyclic request, and the refusals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive.parameters import acyclic
from helpers.drive.parameters import parameter_channel as pkw
from helpers.drive.parameters import parameter_store as store
from helpers.drive.parameters.acyclic import Address, ParameterValues, Request
from helpers.drive.parameters.parameter_channel import Channel
from helpers.drive.parameters.parameter_dialogue import match
from helpers.errors import WorkbookError

DEMO = store.demo_store()
RUNNING = store.Store(DEMO.parameters, DEMO.saved, running=True)
NO_RIGHTS = store.Store(DEMO.parameters, DEMO.saved, rights=False)


def cyclic(request, drive=DEMO):
    answer, after = store.respond(drive, request)
    assert match(request, answer).belongs
    return answer, after


@pytest.mark.parametrize(
    ("request_", "answer"),
    [
        (pkw.read(918), Channel(1, 918, value=21)),
        (pkw.read(120), Channel(2, 120, value=1843200)),
        (pkw.read(121), Channel(2, 121, value=0x100000000 - 70000)),
        (pkw.read(112), Channel(1, 112, value=0x10000 - 5000)),
        (pkw.read(915, subindex=1), Channel(4, 915, 1, 1)),
        (pkw.read(915, subindex=4), Channel(4, 915, 4, 0)),
        (pkw.number_of_elements(964), Channel(6, 964, value=6)),
        (pkw.change(110, 60), Channel(1, 110, value=60)),
        (pkw.change(916, 141, subindex=3), Channel(4, 916, 3, 141)),
        (pkw.change(112, -100), Channel(1, 112, value=0x10000 - 100)),
        (pkw.change(121, -1, bits=32), Channel(2, 121, value=0xFFFFFFFF)),
        # refusals: error numbers of SEW manual DH.41B p.77 and Toshiba manual E6581738 p.15
        (pkw.read(45), Channel(7, 45, value=0)),
        (pkw.change(120, 1, bits=32), Channel(7, 120, value=1)),
        (pkw.change(110, 0), Channel(7, 110, value=2)),
        (pkw.change(110, 6001), Channel(7, 110, value=2)),
        (pkw.read(915, subindex=0), Channel(7, 915, 0, 3)),
        (pkw.read(915, subindex=11), Channel(7, 915, 11, 3)),  # 10 elements: one for each word of PPO 5
        (pkw.read(915), Channel(7, 915, 0, 3)),
        (pkw.read(918, subindex=1), Channel(7, 918, 1, 4)),
        (pkw.number_of_elements(918), Channel(7, 918, value=4)),
        (pkw.change(110, 60, bits=32), Channel(7, 110, value=5)),
        (pkw.change(121, 60), Channel(7, 121, value=5)),
        (Channel(4, 918), Channel(7, 918, value=9)),
        (Channel(15, 918), Channel(7, 918, value=15)),
        (Channel(10, 918), Channel(7, 918, value=18)),
    ],
)
def test_cyclic_answers(request_, answer):
    assert cyclic(request_)[0] == answer


def test_limits_from_both_sides():
    for value, identifier in ((0, 7), (1, 1), (6000, 1), (6001, 7)):
        assert cyclic(pkw.change(110, value))[0].identifier == identifier


def test_conditions():
    assert cyclic(pkw.change(922, 2), RUNNING)[0] == Channel(7, 922, value=17)
    assert cyclic(pkw.change(110, 2), RUNNING)[0].identifier == 1
    assert cyclic(pkw.change(110, 2), NO_RIGHTS)[0] == Channel(8, 110)
    assert cyclic(pkw.read(110), NO_RIGHTS)[0].value == 80
    assert store.respond(DEMO, pkw.no_task()) == (Channel(0), DEMO)


def test_only_what_was_stored_survives_power_off():
    _, after = cyclic(pkw.change(110, 60))
    assert cyclic(pkw.read(110), store.power_cycle(after))[0].value == 80
    _, not_stored = cyclic(pkw.change(971, 0), after)
    assert cyclic(pkw.read(110), store.power_cycle(not_stored))[0].value == 80
    answer, stored = cyclic(pkw.change(971, 1), after)
    assert answer.identifier == 1
    assert cyclic(pkw.read(971), stored)[0].value == 0
    assert cyclic(pkw.read(110), store.power_cycle(stored))[0].value == 60


@given(
    st.builds(
        Channel,
        st.integers(0, 15),
        st.sampled_from([p.number for p in DEMO.parameters] + [0, 45, 2047]),
        st.integers(0, 8),
        st.one_of(st.integers(0, 0xFFFF), st.integers(0, 0xFFFFFFFF)),
    ),
    st.sampled_from([DEMO, RUNNING, NO_RIGHTS]),
)
def test_every_answer_can_be_sent_and_a_refusal_changes_nothing(request_, drive):
    answer, after = store.respond(drive, request_)
    assert pkw.decode(pkw.encode(answer)) == answer
    if answer.identifier in (7, 8) or not pkw.tasks()[request_.identifier].writes:
        assert after == drive
    if request_.identifier < 10 and request_.value <= 0xFFFF:
        assert match(request_, answer).belongs


# --- acyclic ------------------------------------------------------------------------------------------------------


def respond(request, drive=DEMO):
    response, after = store.respond_acyclic(drive, request)
    assert acyclic.belongs(request, response) == ""
    assert acyclic.decode_response(acyclic.encode_response(response)) == response
    return response, after


def test_reading_several_parameters():
    response, _ = respond(Request("read", (Address(918), Address(915, 0, 4), Address(121), Address(112, elements=1))))
    assert [group.readable for group in response.values] == [(21,), (1, 5, 0, 0), (-70000,), (-5000,)]
    assert not response.failed


def test_arrays_are_counted_from_1_cyclically_and_from_0_acyclically():
    # Fault situations begin at 1, 9, 17 in the older profile (ABB RPBA-01 manual p.103) and at 0, 8, 16 in the newer
    # (LS S100 manual p.26): subindex of the acyclic request = subindex of the channel − 1.
    for subindex in range(1, 7):
        by_channel = cyclic(pkw.read(964, subindex=subindex))[0].value
        by_request = respond(Request("read", (Address(964, subindex - 1, 1),)))[0].values[0].raw[0]
        assert by_channel == by_request


def test_changing_several_parameters_and_a_part_that_fails():
    addresses = (Address(110), Address(120), Address(111))
    numbers = (acyclic.values("Unsigned16", [60]), acyclic.values("Unsigned32", [1]), acyclic.values("Word", [70]))
    response, after = respond(Request("change", addresses, numbers))
    assert response.failed
    assert [(group.format, group.error) for group in response.values] == [(0x40, None), (0x44, 1), (0x40, None)]
    read, _ = respond(Request("read", addresses), after)
    assert [group.readable for group in read.values] == [(60,), (1843200,), (70,)]
    good, _ = respond(Request("change", addresses[:1], numbers[:1]))
    assert not good.failed and good.values == ()


@pytest.mark.parametrize(
    ("address", "error"),
    [
        (Address(45), 0),
        (Address(915, 10, 1), 3),
        (Address(918, 0, 2), 4),
        (Address(918, 1), 4),
        (Address(918, attribute=0x20), 9),
        (Address(918, attribute=0x30), 15),
        # A read has no values to count: elements beyond the array are an illegal address, error 22 (Toshiba manual,
        # sibling of E6581738, p.45: attribute, number of elements or subindex do not go together).
        (Address(915, 1, 10), 22),
        (Address(915, 0, 15), 22),
    ],
)
def test_acyclic_refusals(address, error):
    assert respond(Request("read", (address,)))[0].values[0].error == error
    change = Request("change", (address,), (acyclic.values("Word", [1] * max(1, address.elements)),))
    assert respond(change)[0].values[0].error == error


def test_acyclic_changes_refused():
    for group, error in (
        (ParameterValues(0x43, (1,)), 5),
        (ParameterValues(0x42, (1, 2)), 24),
        (ParameterValues(0x42, (0,)), 2),
    ):
        assert respond(Request("change", (Address(110),), (group,)))[0].values[0].error == error
    one = (acyclic.values("Word", [2]),)
    assert respond(Request("change", (Address(922),), one), RUNNING)[0].values[0].error == 17
    assert respond(Request("change", (Address(922),), one), NO_RIGHTS)[0].values[0].error == 11


def test_a_response_that_would_be_too_long():
    # 30 groups of 14 octets are too many for 240; the last ones are refused
    response, _ = respond(Request("read", (Address(964, 0, 6),) * 30))
    errors = [group.error for group in response.values]
    assert errors[0] is None and errors[-1] == 21
    assert len(acyclic.encode_response(response)) <= 240
    assert not respond(Request("read", (Address(918),) * 39))[0].failed


def test_number_and_ind_stand_in_the_answer_as_in_the_request():
    # As in all printed pairs of data/published/drive_parameter_channel.csv.
    asked = Channel(1, 918, other=0x03)
    assert cyclic(asked)[0] == Channel(1, 918, value=21, other=0x03)
    paged = pkw.read(2918)
    assert store.respond(DEMO, paged)[0] == Channel(7, 918, value=0, page=1)  # 2918 is not 918


def test_a_refusal_says_why():
    with pytest.raises(WorkbookError, match="Error 0: there is no parameter"):
        DEMO[45]
