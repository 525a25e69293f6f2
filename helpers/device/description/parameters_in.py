"""The other way round of `modules.configure`: the values of the parameters that lie in octets that were sent."""

from __future__ import annotations

from dataclasses import replace

from helpers.device.description.modules import Setting, Setup


def settings_in(setup: Setup, octets: bytes) -> tuple[Setting, ...]:
    r"""The parameters of a station with the values that stand in the octets behind the seventh of Set_Prm.

    Parameters: setup, the station put together from its description; octets, as sent.
    Return: the settings in the order of the setup; those that the octets do not reach are left out.
    Source: ISO 15745-3:2003, annex on the device description; that the high octet goes first is from memory.

    >>> from helpers.device.description.model import Description, Layout, Module, Parameter
    >>> from helpers.device.description.modules import configure
    >>> layout = Layout(references=((1, 1),))
    >>> one = Description(modules=(Module("a", b"\xf1"),), layout=layout, parameters={1: Parameter(1, "n", "u8", 8)})
    >>> [setting.value for setting in settings_in(configure(one, values={(0, 1): 7}), bytes([0, 9]))]
    [9]
    """
    found = []
    begins = [sum(map(len, setup.parts[:place])) for place in range(len(setup.parts))]
    for setting in setup.settings:
        parameter = setting.parameter
        first = begins[setting.place] + setting.offset
        held = octets[first : first + parameter.octets]
        if len(held) < parameter.octets:
            continue
        value = int.from_bytes(held, "big") >> parameter.first_bit & ((1 << parameter.bits) - 1)
        if parameter.signed and value >> (parameter.bits - 1):
            value -= 1 << parameter.bits
        found.append(replace(setting, value=value, text=setup.description.text_of(parameter, value)))
    return tuple(found)
