"""Compares two descriptions of one device: what changed, what that does to a network, and what then has to be done.

What a change of a keyword does is the column `effect` of `data/description_keywords.csv`; it follows from what the
controller sends with that value, and is from memory where the row is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device.description.grammar import Statement
from helpers.device.description.keywords import keywords
from helpers.device.description.model import Description, Layout, Module, Parameter, Slot, ident_text, named
from helpers.errors import one_of
from helpers.safe_work import cautions
from helpers.wording import counted, short


class Effect(IntEnum):
    """What a change does to a network that runs with the older description; the greater, the worse."""

    NONE = 0
    DEVICE = 1
    TIMING = 2
    RELOAD = 3
    BREAKS = 4

    @property
    def words(self) -> str:
        """The effect as people read it."""
        return (
            "changes nothing that runs",
            "has to be set at the device",
            "bus times have to be calculated anew",
            "the stored octets are no longer those of the file",
            "breaks a network that uses it",
        )[self]

    @property
    def to_do(self) -> str:
        """What has to be done at the engineering computer, and at the device."""
        return (
            "",
            "Set it at the device itself, and switch its supply off and on.",
            "Let the engineering program calculate the bus parameters anew.",
            "Look through the parameters of the station, one by one: defaults or places may be others.",
            "Where a module or a property that the station uses is gone or changed, choose the station's modules "
            "anew and check its addresses in the program. A device of the older issue may need the older file.",
        )[self]


_EFFECTS = {"breaks": Effect.BREAKS, "timing": Effect.TIMING, "reload": Effect.RELOAD,
            "set at the device": Effect.DEVICE}  # fmt: skip


@dataclass(frozen=True)
class Change:
    """One difference. `before` or `after` is empty where the thing is new or gone."""

    what: str
    before: str
    after: str
    effect: Effect


def compare(old: Description, new: Description, used: Collection[str] | None = None) -> tuple[Change, ...]:
    r"""All differences between two descriptions, the worst first.

    Parameters: old and new; used, names of the modules that the network uses, None if that is not known: then any
    module may be in use.
    Return: changes. Comments, spaces and the order of lines are none.

    >>> one = Description(modules=(Module("PPO 3", b"\xf1"),))
    >>> [(change.what, change.effect.words) for change in compare(one, Description())]
    [('module PPO 3', 'breaks a network that uses it')]
    """
    changes = [
        *_general(old, new),
        *_layouts("parameters of the device", old.layout, new.layout),
        *_modules(old, new, used),
        *_parameters(old, new),
        *_slots(old, new),
        *_texts(old, new),
    ]
    return tuple(sorted(changes, key=lambda change: -change.effect))


def steps(changes: Iterable[Change]) -> tuple[str, ...]:
    """What has to be done for these changes, in the order in which it is done; empty if nothing has to be.

    >>> steps([Change("Model_Name", "a", "b", Effect.NONE)])
    ()
    """
    effects = {change.effect for change in changes} - {Effect.NONE}
    if not effects:
        return ()
    return (
        "Save a copy of the project and of the older file.",
        "Bring the new file in by the engineering program's own procedure; copying over the old file is not enough.",
        *(effect.to_do for effect in sorted(effects, reverse=True)),
        "Before the controller is loaded: see that nobody is at the machines. Loading can stop every drive on the "
        "line, and a drive may start when its controller runs again. Follow the site's rules for such work.",
        "Translate the project, load the controller and start it: until then the station gets the older octets.",
        "Read the diagnosis of the station, and test its inputs and outputs one by one.",
    )


def differs_in_texts_only(one: Description, other: Description) -> bool:
    """True if two files are of the same device in two languages.

    Source: ISO 15745-3:2003, annex on the device description, p.133: they may differ in visible strings, and in the
    text of Slave_Family.
    """
    return _without_texts(one) == _without_texts(other)


def _without_texts(one: Description) -> object:
    general = {
        name: [value for value in statement.values if not isinstance(value, str)]
        for name, statement in one.general.items()
    }
    parameters = {number: {**vars(found), "name": "", "line": 0} for number, found in one.parameters.items()}
    modules = [(found.identifiers, found.reference, found.layout, found.preset) for found in one.modules]
    return (
        general,
        parameters,
        modules,
        {number: sorted(texts) for number, texts in one.texts.items()},
        [(slot.number, slot.default, slot.allowed) for slot in one.slots],
        [(text.first_bit, text.last_bit, text.value, text.block) for text in one.diagnosis],
        sorted(one.channel_texts),
        one.layout,
    )


def _general(old: Description, new: Description) -> Iterator[Change]:
    names = [*old.general, *(name for name in new.general if name not in old.general)]
    for name in names:
        before, after = (_written(one.general.get(name)) for one in (old, new))
        if before != after:
            shown = (new.general.get(name) or old.general[name]).keyword
            yield Change(shown, before, after, _effect(name, old.number(name), new.number(name)))
    own = [{one.keyword.lower(): one for one in found.unknown} for found in (old, new)]
    for name in dict.fromkeys([*own[0], *own[1]]):
        before, after = (_written(found.get(name)) for found in own)
        if before != after:
            # Nobody but its maker knows what it does.
            yield Change((own[1].get(name) or own[0][name]).keyword, before, after, Effect.RELOAD)


def _effect(name: str, before: int | None, after: int | None) -> Effect:
    """What a changed value does, by its keyword."""
    effect = keywords()[name].fact["effect"] if name in keywords() else ""
    if before == after and name != "user_prm_data":
        return Effect.NONE  # only a text, or a value written out that was meant before
    less = before is not None and (after is None or after < before)
    more = after is not None and (before is None or after > before)
    return {
        "breaks": Effect.BREAKS,
        "breaks if less": Effect.BREAKS if less else Effect.NONE,
        "timing if more": Effect.TIMING if more or after is None else Effect.NONE,
        "reload": Effect.RELOAD,
        "reload if more": Effect.RELOAD if more else Effect.NONE,
        "set at the device": Effect.DEVICE if less else Effect.NONE,
    }.get(effect, Effect.NONE)


def keyword_effects() -> tuple[dict[str, str], ...]:
    """What a change of each keyword does, in words: keyword, meaning, effect, source, standing.

    >>> {row["keyword"]: row["effect"] for row in keyword_effects()}["MaxTsdr_1.5M"]
    'bus times have to be calculated anew, if the value becomes greater'
    """
    listed = []
    for row in facts.rows("description_keywords"):
        said, _, way = row["effect"].partition(" if ")
        if said == "set at the device":
            way = "less"
        one_way = {"": "", "less": ", if yes becomes no" if row["kind"] == "flag" else ", if the value becomes smaller",
                   "more": ", if the value becomes greater"}[way]  # fmt: skip
        if said:
            words = f"{_EFFECTS[said].words}{one_way}"
            listed.append({"keyword": row["keyword"], "meaning": row["meaning"], "effect": words,
                           "source": row["source"], "standing": row["standing"]})  # fmt: skip
    return tuple(listed)


def _layouts(what: str, old: Layout, new: Layout, worst: Effect = Effect.RELOAD) -> Iterator[Change]:
    if old == new:
        return
    pairs = (
        ("length", str(old.length), str(new.length)),
        ("constants", _constants(old), _constants(new)),
        ("places of parameters", _references(old), _references(new)),
    )
    for name, before, after in pairs:
        if before != after and (what != "parameters of the device" or name != "length"):  # that one is a keyword
            yield Change(f"{what}: {name}", before, after, worst)


def _constants(layout: Layout) -> str:
    return ", ".join(f"{offset}: {octets.hex(' ').upper()}" for offset, octets in layout.constants)


def _references(layout: Layout) -> str:
    return ", ".join(f"{offset}: {number}" for offset, number in layout.references)


def _modules(old: Description, new: Description, used: Collection[str] | None) -> Iterator[Change]:
    after = {module.name: module for module in reversed(new.modules)}
    by_reference = {module.reference: module for module in new.modules if module.reference is not None}
    before = {module.name: module for module in reversed(old.modules)}
    renamed = set()
    for name, module in reversed(before.items()):
        in_use = used is None or name in used
        other = after.get(name)
        if other is None and module.reference in by_reference and by_reference[module.reference].name not in before:
            other = by_reference[module.reference]
            renamed.add(other.name)
            yield Change(f"module {name}", name, other.name, Effect.RELOAD if in_use else Effect.NONE)
        if other is None:
            yield Change(f"module {name}", _octets(module), "", Effect.BREAKS if in_use else Effect.NONE)
            continue
        if module.identifiers != other.identifiers:
            effect = Effect.BREAKS if in_use else Effect.NONE
            yield Change(f"module {name}: identifiers", _octets(module), _octets(other), effect)
        if module.reference != other.reference:
            effect = Effect.RELOAD if in_use else Effect.NONE
            yield Change(f"module {name}: reference", str(module.reference), str(other.reference), effect)
        worst = Effect.RELOAD if in_use else Effect.NONE
        yield from _layouts(f"module {name}: parameters", module.layout, other.layout, worst)
    for name, module in after.items():
        if name not in before and name not in renamed:
            yield Change(f"module {name}", "", _octets(module), Effect.NONE)


def _octets(module: Module) -> str:
    return module.identifiers.hex(" ").upper()


def _parameters(old: Description, new: Description) -> Iterator[Change]:
    for number in dict.fromkeys([*old.parameters, *new.parameters]):
        before, after = old.parameters.get(number), new.parameters.get(number)
        if before is None or after is None:
            names = (before.name if before else "", after.name if after else "")
            yield Change(f"parameter {number}", names[0], names[1], Effect.RELOAD)
            continue
        if before.name != after.name:
            yield Change(f"parameter {number}: name", before.name, after.name, Effect.NONE)
        first, second = _traits(before), _traits(after)
        for what in first:
            if first[what] != second[what]:
                yield Change(f"parameter {number}, {after.name}: {what}", first[what], second[what], Effect.RELOAD)


def _traits(one: Parameter) -> dict[str, str]:
    return {
        "type": f"{one.kind}, bits {one.first_bit} to {one.first_bit + one.bits - 1}",
        "default": str(one.default),
        "allowed": one.range_text,
        "may be changed": "yes" if one.changeable else "no",
    }


def _slots(old: Description, new: Description) -> Iterator[Change]:
    before, after = ({slot.number: slot for slot in one.slots} for one in (old, new))
    for number in dict.fromkeys([*before, *after]):
        one, other = before.get(number), after.get(number)
        if one and other and (one.default, one.allowed) == (other.default, other.allowed):
            continue
        references = {module.reference for module in old.modules} & {module.reference for module in new.modules}
        lost = one and any(one.takes(n) and not (other and other.takes(n)) for n in references if n is not None)
        yield Change(f"slot {number}", _taken(one), _taken(other), Effect.BREAKS if lost else Effect.NONE)


def _texts(old: Description, new: Description) -> Iterator[Change]:
    for what, before, after in (
        ("texts of parameters", old.texts, new.texts),
        ("texts of the diagnosis", old.diagnosis, new.diagnosis),
        ("texts of channels", old.channel_texts, new.channel_texts),
    ):
        if before != after:
            yield Change(what, f"{len(before)}", f"{len(after)}, or with other words", Effect.NONE)


def _range(value: object) -> str:
    return f"{value[0]}-{value[1]}" if isinstance(value, tuple) else str(value)


def _taken(slot: Slot | None) -> str:
    return f"{slot.default}; {', '.join(map(_range, slot.allowed))}" if slot else ""


def _written(one: Statement | None) -> str:
    return ", ".join(_range(value) for value in one.values) if one else ""


# -- as an answer --------------------------------------------------------------------------------------

CHANGED, TO_DO = REVISIONS_SHOWN = ("what changed", "what has to be done")

_OPEN_ROWS = 7
# A sign with the words, as for a verdict; what breaks a network is no matter of the standard.
_SIGNS = {Effect.NONE: "●", Effect.BREAKS: "■"}


def revision_answer(
    old: Description, new: Description, used: Collection[str] | None = None, *, show: str = CHANGED
) -> Answer:
    """What changed between two descriptions, or what is to be done; `used` are the modules in use, None: not known."""
    one_of("view", show, REVISIONS_SHOWN)
    changes = compare(old, new, used)
    if not changes:
        return Answer("No difference between the two: comments, spaces and the order of lines are none.")
    texts_only = differs_in_texts_only(old, new)
    if show == TO_DO:
        return _to_do_answer(old, new, changes, texts_only)
    rows = [_change_row(change) for change in changes if change.effect]
    harmless = [_change_row(change) for change in changes if not change.effect]
    return Answer(
        _sentence(old, new, changes, texts_only),
        because=_because(old, new, used, texts_only),
        caution=cautions("load") if rows and not texts_only else (),
        rows=rows[:_OPEN_ROWS] or harmless[:_OPEN_ROWS],
        folded=[
            (f"{len(rows) - _OPEN_ROWS} more", rows[_OPEN_ROWS:200]),
            (f"Changes that change nothing that runs: {len(harmless)}", harmless[:200] if rows else []),
        ],
    )


def _sentence(old: Description, new: Description, changes: Sequence[Change], texts_only: bool) -> str:
    if texts_only:
        return f"{named(old)}: the two differ in texts only. They are one device in two languages."
    breaking = sum(change.effect is Effect.BREAKS for change in changes)
    count = counted(len(changes), "change")
    those = "none of them breaks" if not breaking else f"{breaking} of them break{'s' if breaking == 1 else ''}"
    return f"From {named(old)} to {named(new)}: {count}, {those} a running network that uses what it changes."


def _because(old: Description, new: Description, used: Collection[str] | None, texts_only: bool) -> str:
    if old.ident != new.ident:
        return (
            f"The ident numbers differ, {ident_text(old)} and {ident_text(new)}: these are two devices. A station "
            "answers to the number of its own description only."
        )
    if texts_only:
        return "What goes on the bus is the same. Take the language that your people read."
    if used is None:
        return "Say which module your station uses: then what it does not use counts no more."
    return f"Judged for a station with the module {short(', '.join(used))}."


def _change_row(change: Change) -> Row:
    return {
        "what": short(change.what, 64),
        "before": short(change.before, 44) or "–",
        "after": short(change.after, 44) or "–",
        "what it does": f"{_SIGNS.get(change.effect, '▲')} {change.effect.words}",
    }


def _to_do_answer(old: Description, new: Description, changes: Sequence[Change], texts_only: bool) -> Answer:
    listed = () if texts_only else steps(changes)
    rows: list[Row] = [{"step": number, "in the engineering computer, and at the drive": step} for number, step in
                       enumerate(listed, 1)]  # fmt: skip
    if not rows:
        return Answer(
            f"{named(new)}: nothing has to be done for what runs.",
            because="Choose the new file for stations that you add from now on.",
        )
    return Answer(
        f"From {named(old)} to {named(new)}: {len(rows)} steps, in this order.",
        because="Until the controller is loaded, the station gets what the older file said.",
        caution=cautions("load"),
        rows=rows,
    )
