"""The octets that a controller sends for chosen modules and values, as an answer: Chk_Cfg and Set_Prm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from helpers.answer import Answer, Row
from helpers.device.description.keywords import cited_for
from helpers.device.description.model import Description
from helpers.device.description.modules import DEVICE, Setting, Setup, configure
from helpers.device.format_answers import place_rows
from helpers.errors import Unreadable
from helpers.safe_work import cautions
from helpers.verdict import Degree
from helpers.wording import capital_first, counted, octets_text, short
from helpers.written import whole


@dataclass(frozen=True)
class SetUpPicture:
    """The octets of Chk_Cfg and of Set_Prm, each under the place that it belongs to."""

    setup: Setup

    @property
    def own_octets(self) -> int:
        """How many octets of Set_Prm stand before those of the parameters."""
        return self.setup.set_prm_octets - len(self.setup.user_parameters)

    @property
    def legend(self) -> str:
        """The places with their modules."""
        names = ["the device", *(short(module.name, 24) for module in self.setup.modules)]
        places = (f"{n}: {name}" for n, name in enumerate(names) if n or self.setup.parts[DEVICE])
        return _legend(list(places))

    @property
    def says(self) -> str:
        """Both services in hexadecimal, and the places."""
        parameters = octets_text(self.setup.user_parameters) or "nothing"
        return (
            f"Chk_Cfg {octets_text(self.setup.identifiers)}. Set_Prm from octet {self.own_octets + 1} on {parameters}. "
            f"Places: {self.legend}"
        )


def read_values(typed: str) -> dict[str, str]:
    """Values of parameters as people write them: one a line, `name = value`.

    >>> read_values("when the bus fails = ramp down")
    {'when the bus fails': 'ramp down'}
    """
    found = {}
    for line in filter(None, (line.strip() for line in typed.splitlines())):
        name, equal, value = line.rpartition("=")
        if not (equal and name.strip() and value.strip()):
            raise Unreadable(f"{short(line)!r} is no value of a parameter; write one a line, as in filter = 10.")
        found[name.strip()] = value.strip()
    return found


def placed(description: Description, chosen: Sequence[str], values: Mapping[str, str]) -> Setup:
    """The station put together; each value goes to the first place that has a parameter of its name."""
    plain = configure(description, chosen)
    places = {one.parameter.name.casefold(): one for one in reversed(plain.settings)}
    wanted: dict[tuple[int, str | int], int | str] = {}
    for name, value in values.items():
        setting = places.get(name.casefold())
        if setting is None:
            known = "; ".join(dict.fromkeys(one.parameter.name for one in plain.settings)) or "none"
            raise Unreadable(
                f"no parameter is called {short(name)!r}; with these modules they are: {short(known, 400)}."
            )
        wanted[setting.place, setting.parameter.number] = _number(description, setting, value)
    return configure(description, chosen, wanted) if wanted else plain


def _number(description: Description, setting: Setting, value: str) -> int | str:
    """A number, or one of the texts; a text may itself look like a number."""
    texts = description.texts.get(setting.parameter.text_list or 0, {})
    if value in texts.values():
        return value
    try:
        return whole(value)
    except Unreadable:
        return value


def octets_answer(description: Description, chosen: Sequence[str], values: Mapping[str, str]) -> Answer:
    """What the controller sends for chosen modules, by name, and values of parameters, by name."""
    return set_up_answer(placed(description, chosen, values))


def set_up_answer(setup: Setup) -> Answer:
    """What the controller sends to a station that is put together."""
    settings: list[Row] = [
        {
            "place": one.place,
            "octet": _octet(setup, one),
            "parameter": short(one.parameter.name),
            "value": one.text,
            "allowed": short(one.parameter.range_text),
        }
        for one in setup.settings
    ]
    image: list[Row] = [
        {"place": one.place, "module": short(one.module), "direction": one.direction, "from byte 0": one.address,
         "size": one.consistency}
        for one in setup.image
    ]  # fmt: skip
    picture = SetUpPicture(setup)
    names = " + ".join(short(module.name, 40) for module in setup.modules[:6])
    return Answer(
        f"{names}: {setup.bytes_out} bytes out, {setup.bytes_in} bytes in; "
        f"{counted(len(setup.identifiers), 'octet')} in Chk_Cfg, {setup.set_prm_octets} octets in Set_Prm.",
        degree=Degree.CANNOT_WORK if setup.complaints else Degree.IN_ORDER,
        because=" ".join(map(capital_first, setup.complaints))
        or "The controller sends these octets at every start. A station that expects others refuses.",
        caution=cautions("on loss of the bus") if settings else (),
        pictures=[picture],
        rows=settings[:6],
        folded=[
            (
                "The octets in hexadecimal",
                [
                    {"service": "Chk_Cfg", "octets": octets_text(setup.identifiers)},
                    {
                        "service": f"Set_Prm from octet {picture.own_octets + 1} on",
                        "octets": octets_text(setup.user_parameters) or "none",
                    },
                ],
            ),
            (f"{len(settings) - 6} more parameters", settings[6:]),
            ("The bytes in the controller, if the station begins at byte 0", image),
            ("What the identifiers say", place_rows(setup.configuration)),
        ],
        sources=[cited_for("Module"), cited_for("Ext_User_Prm_Data_Ref")],
    )


def _octet(setup: Setup, one: Setting) -> str:
    """The octets of Set_Prm in which a parameter lies, counted from 1."""
    first = setup.set_prm_octets - len(setup.user_parameters) + sum(map(len, setup.parts[: one.place])) + one.offset + 1
    last = first + one.parameter.octets - 1
    return str(first) if first == last else f"{first} to {last}"


def _legend(parts: Sequence[str], most: int = 105) -> str:
    text = ""
    for n, part in enumerate(parts):
        if len(text) + len(part) > most:
            return f"{text} · and {len(parts) - n} more"
        text = f"{text} · {part}".removeprefix(" · ")
    return text
