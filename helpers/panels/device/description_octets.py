"""The octets that a controller sends for chosen modules and values: Chk_Cfg and Set_Prm, drawn place by place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from helpers.answer import Answer, Row
from helpers.device.description.model import Description
from helpers.device.description.modules import DEVICE, Setting, Setup, configure
from helpers.errors import Unreadable
from helpers.panels.device.description_files import cited_for
from helpers.panels.device.identifiers import place_rows
from helpers.panels.kit.drawing import GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.safe_work import cautions
from helpers.verdict import Degree
from helpers.wording import capital_first, short
from helpers.written import whole

_BOX, _LEFT, _MOST_BOXES = 27, 92, 23  # px, px, octets in a line of the drawing
_FILLS = (SAND, SKY, PAPER)


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


def octets_view(description: Description, chosen: Sequence[str], values: Mapping[str, str]) -> Answer:
    """What the controller sends for chosen modules, by name, and values of parameters, by name."""
    setup = placed(description, chosen, values)
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
    names = " + ".join(short(module.name, 40) for module in setup.modules[:6])
    return Answer(
        f"{names}: {setup.bytes_out} bytes out, {setup.bytes_in} bytes in; {_counted(setup.identifiers)} in "
        f"Chk_Cfg, {setup.set_prm_octets} octets in Set_Prm.",
        degree=Degree.CANNOT_WORK if setup.complaints else Degree.IN_ORDER,
        because=" ".join(map(capital_first, setup.complaints))
        or "The controller sends these octets at every start. A station that expects others refuses.",
        caution=cautions("on loss of the bus") if settings else (),
        pictures=[octets_drawing(setup)],
        rows=settings[:6],
        folded=[
            (f"{len(settings) - 6} more parameters", settings[6:]),
            ("The bytes in the controller, if the station begins at byte 0", image),
            ("What the identifiers say", place_rows(setup.configuration)),
        ],
        sources=[cited_for("Module"), cited_for("Ext_User_Prm_Data_Ref")],
    )


def _counted(octets: Sequence[object]) -> str:
    return f"{len(octets)} octet{'s' if len(octets) != 1 else ''}"


def _octet(setup: Setup, one: Setting) -> str:
    """The octets of Set_Prm in which a parameter lies, counted from 1."""
    first = setup.set_prm_octets - len(setup.user_parameters) + sum(map(len, setup.parts[: one.place])) + one.offset + 1
    last = first + one.parameter.octets - 1
    return str(first) if first == last else f"{first} to {last}"


def octets_drawing(setup: Setup) -> Drawing:
    """The octets of Chk_Cfg and of Set_Prm, each under the place that it belongs to."""
    own = setup.set_prm_octets - len(setup.user_parameters)
    lines = (
        ("Chk_Cfg", "", [(place, octet) for place, one in enumerate(setup.modules, 1) for octet in one.identifiers]),
        ("Set_Prm", f"from {own + 1}", [(place, octet) for place, part in enumerate(setup.parts) for octet in part]),
    )
    names = ["the device", *(short(module.name, 24) for module in setup.modules)]
    legend = _legend([f"{place}: {name}" for place, name in enumerate(names) if place or setup.parts[DEVICE]])
    says = f"Chk_Cfg {setup.identifiers.hex(' ').upper()}. Set_Prm from octet {own + 1} on "
    says += f"{setup.user_parameters.hex(' ').upper() or 'nothing'}. Places: {legend}"
    sheet = Drawing(_LEFT + _BOX * (_MOST_BOXES + 1) + 8, 112, says)
    for n, (service, note, octets) in enumerate(lines):
        y = 6.0 + 46 * n
        sheet.text(4, y + 15, service, anchor="start", bold=True)
        sheet.text(4, y + 29, note or _counted(octets), size=11, anchor="start", fill=GREY)
        if not octets:
            sheet.text(_LEFT, y + 15, "nothing beyond the seventh octet", size=12, anchor="start", fill=GREY)
        shown = octets if len(octets) <= _MOST_BOXES + 1 else octets[:_MOST_BOXES]
        for at, (place, octet) in enumerate(shown):
            x = _LEFT + at * _BOX
            sheet.box(x, y, _BOX - 2, 20, fill=_FILLS[place % len(_FILLS)], stroke=INK, line=1)
            sheet.text(x + _BOX / 2 - 1, y + 15, f"{octet:02X}", size=12)
            if at == 0 or octets[at - 1][0] != place:
                sheet.text(x + 1, y + 33, place, size=11, anchor="start", fill=GREY)
        if len(shown) < len(octets):
            sheet.text(_LEFT + _MOST_BOXES * _BOX + 4, y + 15, f"+{len(octets) - len(shown)}", size=11, anchor="start")
    sheet.text(4, 106, f"Places: {legend}", size=11, anchor="start", fill=GREY)
    return sheet


def _legend(parts: Sequence[str], most: int = 105) -> str:
    text = ""
    for n, part in enumerate(parts):
        if len(text) + len(part) > most:
            return f"{text} · and {len(parts) - n} more"
        text = f"{text} · {part}".removeprefix(" · ")
    return text
