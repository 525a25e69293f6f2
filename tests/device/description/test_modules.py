"""From modules and values to octets. The expected octets are worked out by hand from the invented demo files."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.device.description.grammar import Span
from helpers.device.description.model import Description, Layout, Module, Parameter, Slot
from helpers.device.description.modules import configure, modules_for
from helpers.device.description.read import read_description
from helpers.errors import OutOfRange, Unknown

DEMO = facts.DATA / "demo/descriptions"
MODULAR = read_description(DEMO / "Mil_FFF1.gsd")
OPTION = "option: 16 inputs"


def one_parameter(parameter, constant=b"\0\0\0\0", offset=0, texts=()):
    return Description(
        modules=(Module("one", b"\xf1"),),
        parameters={1: parameter},
        texts={1: dict(texts)},
        layout=Layout(None, ((0, constant),), ((offset, 1),)),
    )


def test_defaults():
    setup = configure(MODULAR, ["Mill 2/3"])
    assert setup.identifiers.hex(" ") == "e1 d2"
    assert setup.user_parameters.hex(" ") == "00 00 00 81 00 64 00"  # stop at the ramp, fan on; 100 · 10 ms; 0 %
    assert (setup.bytes_out, setup.bytes_in, setup.set_prm_octets, setup.complaints) == (4, 6, 14, ())


def test_chosen_values():
    values = {(0, "when the bus fails"): "coast to a stop", (0, 2): "off", (0, 3): 500, (0, 4): -20, (2, 5): 10}
    setup = configure(MODULAR, [1, OPTION], values)
    assert setup.user_parameters.hex(" ") == "00 00 00 00 01 f4 ec 0a 00"  # 500 = 16#01F4, -20 = 16#EC
    assert [one.text for one in setup.settings] == ["0 (coast to a stop)", "0 (off)", "500", "-20", "10"]
    assert [(area.place, area.address) for area in setup.image] == [
        (1, "%QB0 to %QB3"), (1, "%IB0 to %IB5"), (2, "%IB6 to %IB7"),
    ]  # fmt: skip


def test_devices_with_one_set_of_identifiers_need_no_choice():
    compact, old = (configure(read_description(DEMO / f"Mil_{ident}.gsd")) for ident in ("FFF2", "FFF3"))
    assert (compact.identifiers, compact.user_parameters) == (b"\xf1", b"\x01\x64")
    assert (old.identifiers, old.user_parameters) == (b"\xf3", b"\1\2\3\4\5")


@pytest.mark.parametrize(
    ("chosen", "complaint"),
    [
        ([7, 1], "'option: 16 inputs' stands in slot 1, data format, which does not take it"),
        ([1, 7, 7], "3 modules; allowed is 0 to 2 (Max_Module of Mil_FFF1.gsd)"),
    ],
)
def test_what_the_description_does_not_allow_is_said(chosen, complaint):
    assert any(one.startswith(complaint) for one in configure(MODULAR, chosen).complaints)


def test_two_modules_of_a_device_that_takes_one():
    compact = read_description(DEMO / "Mil_FFF2.gsd")
    assert any("Modular_Station = 0" in one for one in configure(compact, ["PPO 3", "PPO 3"]).complaints)


@pytest.mark.parametrize(
    ("values", "error", "message"),
    [
        ({(0, 3): 6001}, OutOfRange, "delay before a stop, in 10 ms is 6001; allowed is 0 to 6000"),
        ({(0, 4): -21}, OutOfRange, "allowed is -20 to 20"),
        ({(0, 1): "fly"}, Unknown, "known are coast to a stop, ramp down"),
        ({(0, 3): "fast"}, Unknown, "known are none; give a number"),
        ({(1, 3): 5}, Unknown, "place 1 has no parameter '3'; place and parameter can be: 0: when the bus fails"),
    ],
)
def test_values_that_are_refused(values, error, message):
    with pytest.raises(error, match=message):
        configure(MODULAR, [1], values)
    assert configure(MODULAR, [1], {(0, 3): 6000, (0, 4): 20}).user_parameters.hex(" ") == "00 00 00 81 17 70 14"


def test_a_parameter_that_can_not_be_changed():
    fixed = one_parameter(Parameter(1, "kind", "Unsigned8", 8, default=3, changeable=False))
    assert configure(fixed, values={(0, 1): 3}).user_parameters[0] == 3
    with pytest.raises(OutOfRange, match="it can't be changed"):
        configure(fixed, values={(0, 1): 4})


def test_no_module_an_unknown_one_and_too_many_octets():
    with pytest.raises(OutOfRange, match="no module is chosen"):
        configure(MODULAR)
    with pytest.raises(Unknown, match="no module 'PPO 9'"):
        configure(MODULAR, ["PPO 9"])
    # Set_Prm takes 244 octets, 7 of them its own: PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734
    assert configure(one_parameter(Parameter(1, "p", "Bit", 1), bytes(237))).set_prm_octets == 244
    with pytest.raises(OutOfRange, match="allowed is 0 to 237"):
        configure(one_parameter(Parameter(1, "p", "Bit", 1), bytes(238)))
    with pytest.raises(OutOfRange, match="reach to octet 100001"):
        configure(one_parameter(Parameter(1, "p", "Bit", 1), offset=100000))


@given(st.data())
def test_a_value_lies_in_its_bits_and_the_bits_around_it_stay(data):
    signed = data.draw(st.booleans())
    bits = data.draw(st.sampled_from([8, 16, 32]) if signed else st.integers(1, 16))
    first = 0 if signed else data.draw(st.integers(0, 16 - bits))
    low = -(1 << (bits - 1)) if signed else 0
    value = data.draw(st.integers(low, low + (1 << bits) - 1))
    around = data.draw(st.binary(min_size=6, max_size=6))
    parameter = Parameter(1, "p", "any", bits, first, signed)
    octets = configure(one_parameter(parameter, around, 1), values={(0, "p"): value}).user_parameters
    assert (octets[0], octets[1 + parameter.octets :]) == (around[0], around[1 + parameter.octets :])
    # A second way: the octets as a row of 0 and 1, high octet first.
    row, before = ("".join(f"{octet:08b}" for octet in part[1 : 1 + parameter.octets]) for part in (octets, around))
    end = len(row) - first
    assert int(row[end - bits : end], 2) == value % (1 << bits)
    assert (row[: end - bits], row[end:]) == (before[: end - bits], before[end:])


@pytest.mark.parametrize(
    ("identifiers", "names"),
    [
        ("E1 D2", ["Mill 2/3"]),
        ("E1 D2 11", ["Mill 2/3", OPTION]),
        ("F5", ["PPO 4"]),
        ("E1", None),
        ("11 E1 D2", None),  # slot 1 does not take the option
        ("F5 F5", None),  # slot 2 takes the option only
        ("E1 D2 11 11", None),  # three modules; Max_Module is 2
        ("", None),
    ],
)
def test_which_modules_give_identifiers(identifiers, names):
    found = modules_for(MODULAR, bytes.fromhex(identifiers))
    assert (found and [module.name for module in found]) == names
    assert found is None or configure(MODULAR, [m.name for m in found]).identifiers == bytes.fromhex(identifiers)


def test_a_module_without_a_reference_fits_no_slot_that_names_what_it_takes():
    slot = Slot(1, "data format", 1, ())
    nameless, named = Module("nameless", b"\xf1"), Module("named", b"\xf1", reference=1)
    assert slot.takes(1)
    for module, taken in ((nameless, False), (named, True)):
        device = Description(modules=(module,), slots=(slot,))
        assert (modules_for(device, b"\xf1") is not None) == taken
        assert any("which does not take it" in one for one in configure(device).complaints) == (not taken)


def test_as_few_modules_as_possible_and_none_without_octets():
    modules = (Module("none", b""), Module("one", b"\x11"), Module("two", b"\x11\x11"))
    free = Description(modules=modules, general={})
    assert modules_for(free, b"\x11" * 3) is None  # not modular: one module
    many = read_description(b"#Profibus_DP\nModular_Station = 1\n" + b"".join(
        b'Module = "%d" %s\nEndModule\n' % (n, b",".join([b"0x11"] * n)) for n in (1, 2)))  # fmt: skip
    assert [len(modules_for(many, b"\x11" * n)) for n in (1, 2, 3, 4, 244)] == [1, 1, 2, 2, 122]


@pytest.mark.parametrize(("value", "allowed"), [(0, False), (1, True), (2, False), (4, True), (7, True), (8, False)])
def test_single_values_and_ranges_allowed(value, allowed):
    assert Parameter(1, "p", "Unsigned8", 8, allowed=(1, Span(4, 7))).allows(value) is allowed
