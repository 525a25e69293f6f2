"""Reading parameters back is the other way round of putting them together."""

from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.device.description.modules import configure, settings_in
from helpers.device.description.read import read_description

DEVICE = read_description(facts.DATA / "demo" / "descriptions" / "Mil_FFF1.gsd")
MODULES = ["PPO 4", "option: 16 inputs"]


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 2), st.integers(0, 1), st.integers(0, 6000), st.integers(-20, 20), st.sampled_from((1, 3, 10)))
def test_round_trip(reaction, fan, delay, offset, filter_ms):
    values = {(0, 1): reaction, (0, 2): fan, (0, 3): delay, (0, 4): offset, (2, 5): filter_ms}
    setup = configure(DEVICE, MODULES, values)
    plain = configure(DEVICE, MODULES)
    assert settings_in(plain, setup.user_parameters) == setup.settings


def test_a_telegram_cut_short_gives_what_it_reaches():
    setup = configure(DEVICE, MODULES)
    assert [one.parameter.number for one in settings_in(setup, setup.user_parameters[:4])] == [1, 2]
    assert settings_in(setup, b"") == ()


def test_a_value_without_a_text_is_shown_as_a_number():
    setup = configure(DEVICE, MODULES)
    octets = bytearray(setup.user_parameters)
    octets[3] |= 3  # 3 is no text of the reaction, 0 to 2 are
    assert settings_in(setup, bytes(octets))[0].text == "3"
