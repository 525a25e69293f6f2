"""Questions on finding faults: where to look first, what a reading says and excludes, and in which order to work.

Each slip is a way in which time or safety is lost on site. The site is Saltmarsh Mill, which is invented; which
reading shows which fault is taken from the table of evidence.
"""

from __future__ import annotations

import math

from helpers.facts import one, where
from helpers.line.evidence.pairs import shows_and_silent
from helpers.line.evidence.table import demo_evidence
from helpers.study.forms import Number
from helpers.study.mill import DRIVES
from helpers.study.question import Draw, Kind, Question, Slip


def first_reading(draw: Draw) -> Question:
    """Which reading to take first for a complaint."""
    drive = draw.pick(DRIVES)
    complaint, right, why, far = draw.pick(
        (
            (
                f"The {drive} does nothing. All the others run.",
                "the station table and the front of that drive",
                "Both cost minutes and stop nobody. They say whether the bus reaches it, and what it says.",
                "the ohmmeter at the ends of the segment",
            ),
            (
                "Half of the drives have stopped at once. The others run.",
                "the station table, held beside the drawing of the cable",
                "Which stations are lost, and where they hang on the cable, tells the place before anything is opened.",
                f"the settings of the {drive}",
            ),
            (
                f"The {drive} stops now and then and comes back by itself.",
                "the station table twice, some minutes apart",
                "A fault that comes and goes is seen by counting. Between two looks the counters tell who lost some.",
                "the ohmmeter, once, with the bus dead",
            ),
            (
                f"The {drive} turns, but far too slowly.",
                "the I/O test sheet: the setpoint as it is sent, and the actual value",
                "A drive that turns has its bus. So look at the words: is the right number sent?",
                "the oscilloscope at its plug",
            ),
        )
    )
    minutes = draw.whole(10, 90, 5)
    slips = (
        Slip(far, "That is far from the complaint and costs more. Look first where it is quick and where it points."),
        Slip(
            f"exchange the {drive} for a spare one",
            "That is swapping before measuring. A fault elsewhere stays, and a new drive has other settings.",
        ),
        Slip(
            "lower the bit rate and see whether it goes away",
            "That changes the plant before anybody has looked, and a fault that goes quiet is still there.",
        ),
    )
    return Question(
        f"The shift says: “{complaint} It has been so for {minutes} minutes.” Nobody has measured anything yet.\n"
        "What do you look at first?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        ("Look before you measure, and take the quick reading first that divides most.", why),
        slips,
    )


def one_or_many(draw: Draw) -> Question:
    """One drive or a whole part of the segment: what that says about the place."""
    count = draw.whole(5, 12)
    from_here = draw.whole(2, count - 1)
    one_only = draw.pick((True, False))
    lost = f"only drive {from_here}" if one_only else f"the drives {from_here} to {count}"
    at_one = f"at drive {from_here} itself: its supply, its address, its settings, its own plug"
    at_cable = f"in the cable between drive {from_here - 1} and drive {from_here}, or in the plugs at its two ends"
    at_master = "in the controller or its program"
    right, wrong = (at_one, at_cable) if one_only else (at_cable, at_one)
    why = (
        "Those behind it answer, so the cable passes it in order. What is wrong belongs to this one drive."
        if one_only
        else "Those before it answer and those behind it do not. The line ends for the bus where the loss begins."
    )
    slips = (
        Slip(
            wrong,
            "Drives further along the cable answer, so the cable there is whole."
            if one_only
            else "One drive that fails does not take its neighbours with it. A break in the cable does.",
        ),
        Slip(at_master, "The controller talks with the others without trouble. It would lose all of them."),
        Slip(
            "in every drive that is lost, one after the other",
            "Several devices seldom fail at once. Look for one cause that explains all of it.",
        ),
    )
    return Question(
        f"{count} drives hang one behind the other on a cable that begins at the controller. The station table shows "
        f"{lost} as lost; all the others answer.\nWhere do you look first?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        ("Lay the list of lost stations along the cable. Is it one, or all from a point on?", why),
        slips,
    )


def next_plug(draw: Draw) -> Question:
    """Halving a segment: at which plug to open next."""
    low = draw.whole(0, 8)
    high = low + draw.whole(4, 14, 2)
    last = high + draw.whole(2, 7)
    middle = (low + high) // 2
    good = f"up to plug {low} the segment is good" if low else "nothing is known to be good yet"
    return Question(
        f"A segment has plugs 1 to {last}, numbered from the controller. Telegrams are lost all over it. By halving "
        f"you know so far: {good}, and the fault lies before plug {high + 1}. At a plug you can cut the rest off, with "
        "the terminator there switched on.\nThe plant has agreed to the stop. At which plug do you cut next? Halve "
        f"what is left: plugs {low + 1} to {high}, and take the last plug of the first half.",
        Number(),
        float(middle),
        (
            "Halve what is still in question, not the whole segment.",
            f"In question are plugs {low + 1} to {high}: {high - low} of them.",
            f"The first half has {(high - low) // 2}: its last one is plug {low} + {(high - low) // 2} = {middle}.",
        ),
        (
            Slip(float(low + 1), "One plug after the other finds it too, but takes many more stops. Halve."),
            Slip(float(high), "At the last one in question the cut tells nothing new: all of it is still connected."),
            Slip(float(last // 2), "That is the middle of the whole segment. Part of it is known already."),
            Slip(
                float((high - low) // 2), "The half was counted from the start of the segment, not from what is good."
            ),
        ),
    )


def how_many_cuts(draw: Draw) -> Question:
    """How many cuts halving needs."""
    plugs = draw.whole(9, 32)
    answer = math.ceil(math.log2(plugs))
    return Question(
        f"One plug of {plugs} on a segment is bad. Each cut tells in which half it is.\n"
        "How many cuts are enough in any case? Answer in cuts.",
        Number("cuts"),
        float(answer),
        (
            f"Each cut halves what is left. How often can {plugs} be halved until one plug is left?",
            " → ".join(str(n) for n in _halves(plugs)) + f": {answer} cuts.",
        ),
        (
            Slip(float(plugs - 1), "That is trying one plug after the other. Each cut in the middle excludes half."),
            Slip(float(plugs // 2), "Half of them after the first cut, but the next cut halves that again."),
            Slip(float(answer - 1), f"After {answer - 1} cuts more than one plug can be left."),
        ),
    )


def _halves(plugs: int) -> list[int]:
    """What is left in the worse case, cut by cut.

    >>> _halves(9)
    [9, 5, 3, 2, 1]
    """
    left = [plugs]
    while left[-1] > 1:
        left.append((left[-1] + 1) // 2)
    return left


_SOURCES = (
    "the sources: run command and setpoint come from the bus",
    "Bit 9 of the status word and the drive's panel tell.",
)
_WORDS = (
    "the words: control word with bit 10, the right sequence, a setpoint",
    "The I/O test sheet shows what is sent.",
)
_SUPPLY = ("the supply: are there lights at all", "A look at its front, with the covers closed.")
_PLUG = ("the plug: sides, cores, terminator, the bus board's seat", "Look at it before you measure.")
_ADDRESS = ("the address: set, active, and nobody else's", "Set is not active: most drives take it up at power-up.")
_FORMAT = ("the data format: the same in drive and controller", "The station's diagnosis says if they differ.")
# What to check, in the order of the lesson, depending on whether the drive is in data exchange.
_EXCHANGES, _LOST = (_SOURCES, _WORDS), (_SUPPLY, _PLUG, _ADDRESS, _FORMAT)


def order(draw: Draw) -> Question:
    """What comes next when one drive does nothing: it hangs on whether the drive is in data exchange."""
    exchanges = draw.pick((True, False))
    mine, other = (_EXCHANGES, _LOST) if exchanges else (_LOST, _EXCHANGES)
    done = draw.whole(0, len(mine) - 1)
    drive = draw.pick(DRIVES)
    checked = "; ".join(words.partition(":")[0] for words, _ in mine[:done])
    right, how = mine[done]
    elsewhere = (
        "The station table has it in data exchange, so supply, plug, address and format have let it in."
        if exchanges
        else "It is not in data exchange: it gets no words at all, and its sources are not the question yet."
    )
    slips = (
        *(Slip(words, elsewhere) for words, _ in draw.some(other, 2)),
        *(Slip(words, _after(n, done)) for n, (words, _) in enumerate(mine) if words != right),
        Slip("exchange the drive", "Nothing says yet that the drive is bad. Measure before you swap."),
        Slip(
            "load the controller anew, to be safe",
            "That stops every drive, and it hides what was loaded before. First look.",
        ),
    )
    so_far = f"Looked at and in order so far: {checked}." if checked else "Nothing else has been looked at yet."
    table = "it exchanges data, without repeats" if exchanges else "the controller does not get it into data exchange"
    return Question(
        f"The {drive} does nothing over the bus. It ran well from its own panel. The station table says: {table}. "
        f"{so_far}\nWhat do you look at next, in the order of the lesson?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        (
            "What does the station table say? In data exchange: sources, words. Not in it: supply, plug, address, "
            "format.",
            f"Next is: {right}. {how}",
        ),
        slips,
    )


def _after(number: int, done: int) -> str:
    if number < done:
        return "That has been looked at and is in order. Go on; look again only if something was changed."
    return "That comes later: something that is quicker to see, or wrong more often, comes before it."


_DEAD = "The bus is without supply, every device is unplugged, and this was proved with the meter."


def ohms(draw: Draw) -> Question:
    """What a resistance between B and A means."""
    rt = one("terminator", name="rt_ohm").number("value")
    count = draw.whole(1, 3)
    cable = draw.whole(0, 4)
    shown_ohm = round(rt / count + cable)
    meaning = {
        1: "one terminator is seen; the other one is off, missing, or cut off by an open core",
        2: "two terminators are seen, as it should be",
        3: "three terminators are seen; one too many is on",
    }
    right = meaning[count]
    near_short = "the cores touch somewhere"
    why_not = {
        1: f"With one terminator it would be about {rt:g} Ω.",
        2: f"Two of {rt:g} Ω side by side give about {rt / 2:g} Ω.",
        3: f"Three of {rt:g} Ω side by side give about {rt / 3:.0f} Ω.",
    }
    slips = (
        *(Slip(meaning[n], why_not[n]) for n in meaning if n != count),
        Slip(near_short, "With a short it would be a few ohms: those of the cable up to there."),
    )
    place = draw.pick(DRIVES)
    return Question(
        f"{_DEAD} Between B and A at the plug of the {place}, mid-segment, the meter shows {shown_ohm} Ω. "
        f"Each terminator has {rt:g} Ω between B and A.\nWhat does that mean?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        (
            "Terminators lie side by side between B and A. Divide one by the reading.",
            f"{rt:g} Ω / {shown_ohm} Ω is about {count}: {right}.",
        ),
        slips,
    )


# Instruments for the question on healthy readings, and what each shows on a healthy line.
_AS_USUAL = {
    "stations": "The station table shows all stations in data exchange, none repeated, none lost",
    "ohms": "With the bus dead, the ohmmeter shows the same as on the day of handover, at every plug",
    "settings": "All settings in the drives are as in the plan, and active",
    "project": "The project is as in the plan, and the controller has the same",
    "io sheet": "The I/O test sheet shows for every drive the words that belong there",
}


def excludes(draw: Draw) -> Question:
    """Which fault a healthy reading excludes; from the table of evidence."""
    key = draw.pick(tuple(_AS_USUAL))
    shows, silent = shows_and_silent(demo_evidence(), key)
    right, others = draw.pick(shows), draw.some(silent, 3)
    return Question(
        f"The {draw.pick(DRIVES)} does not do what it should. {_AS_USUAL[key]}.\n"
        "Which of these faults does that exclude?",
        draw.choice((right, *others)),
        right,
        (
            "Ask of each fault: would this instrument show it? If it would, and does not, the fault is not there.",
            f"“{right}” changes this reading. The other three leave it as it is, so they are still possible.",
        ),
        tuple(
            Slip(other, f"“{other}” leaves this reading as it is. So the reading says nothing about it.")
            for other in others
        ),
    )


def retries(draw: Draw) -> Question:
    """Where repeats begin along the cable."""
    count = draw.whole(5, 8)
    start = draw.whole(2, count - 1)
    names = [f"drive {n}" for n in range(1, count + 1)]
    repeats = [0 if n < start else draw.whole(20, 60) + 12 * (n - start) for n in range(1, count + 1)]
    right = f"the cable between drive {start - 1} and drive {start}, with the plugs at its ends"
    slips = (
        Slip(
            f"drive {count}, which has the most repeats",
            "The most repeats is not where the fault is. A bad contact in the cable costs all stations behind it "
            "repeats, and none before it. An echo, as from a missing terminator, is otherwise: it hits some pairs of "
            "stations, wherever they stand.",
        ),
        Slip(
            f"each of the {count - start + 1} drives that have repeats",
            "One cause is likelier than several. What do they have in common? They lie behind one piece of cable.",
        ),
        Slip(
            "nothing: no station is lost, so the bus is in order",
            "A repeat is a telegram that did not arrive at first. On a healthy bus there are next to none.",
        ),
    )
    return Question(
        "The drives stand in the order of the cable, which begins at the controller. After ten minutes the station "
        "table shows:\nWhat do you look at first?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        (
            "Go along the cable. Where does the first repeat stand?",
            f"Up to drive {start - 1} there is none, from drive {start} on every one has some. So something in the way "
            f"is bad, no echo: look between the two, {right}.",
        ),
        slips,
        rows=[{"station": name, "repeated": n, "lost": 0} for name, n in zip(names, repeats, strict=True)],
    )


_CAUSES = {
    "Station_Non_Existent": "no supply, another address, or no way to it on the cable",
    "Cfg_Fault": "another data format is set in the drive than in the controller",
    "Prm_Fault": "the project has the description of another device, or wrong parameter octets",
    "Ext_Diag": "the device reports a fault of its own; the bus is not the cause",
    "Master_Lock": "another master holds the station",
}
_BIT_IN_WORDS = {bit: one("diagnosis_bits", name=bit)["one"] for bit in _CAUSES}


def diagnosis_bit(draw: Draw) -> Question:
    """From a diagnosis bit to its cause."""
    right, *others = draw.some(tuple(_CAUSES), 4)
    return Question(
        f"The diagnosis of the {draw.pick(DRIVES)}, bus address {draw.whole(3, 60)}, has one bit of octet 1 at 1: "
        f"{right}.\nWhat is the likely cause?",
        draw.choice([_CAUSES[bit] for bit in (right, *others)]),
        _CAUSES[right],
        (
            f"Read the bit's name as a sentence: {_BIT_IN_WORDS[right]}.",
            f"So look here: {_CAUSES[right]}.",
        ),
        tuple(Slip(_CAUSES[bit], f"That would be {bit}: {_BIT_IN_WORDS[bit]}.") for bit in others),
    )


_RATES = (("12 Mbit/s", "187.5 kbit/s"), ("12 Mbit/s", "93.75 kbit/s"), ("6 Mbit/s", "187.5 kbit/s"),
          ("3 Mbit/s", "93.75 kbit/s"))  # fmt: skip


def goes_quiet(draw: Draw) -> Question:
    """A fault that goes quiet at a lower bit rate is not cured."""
    high, low = draw.pick(_RATES)
    count = draw.whole(12, 400)
    right = (
        f"the fault is still there; at {low} a bit lasts longer, and the reflection has died away when it is sampled"
    )
    slips = (
        Slip(
            f"it is repaired, with {low} as the repair",
            "Nothing was repaired. The next small thing, a damp plug say, brings it back, and the bus is slower.",
        ),
        Slip(
            f"the devices can not do {high}",
            "One of them may not, but then it would not answer at all. Repeats speak for the cable.",
        ),
        Slip(
            "the program was too slow before",
            "The program's cycle has no say in whether a telegram arrives whole.",
        ),
    )
    return Question(
        f"At {high} the station table counts {count} repeats a minute. You set {low}, and the repeats are gone.\n"
        "What do you write into the record?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        (
            "What has changed: the cable, or only how long a bit lasts?",
            f"Cable and plugs are as before. At {low} a bit is so long that the disturbance is over before its "
            "middle. The cause stays, and so does the job.",
        ),
        slips,
    )


def safe_order(draw: Draw) -> Question:
    """The next step of taking a bus out of operation."""
    rows = [row for way in ("agree", "isolate", "unplug") for row in where("safe_work", way=way)]
    sentences = [row["words"] for row in rows]
    done = draw.whole(1, len(sentences) - 3)
    drive = draw.pick(DRIVES)
    aim = draw.pick(("measure resistance", "test continuity", "replace a plug", "seat the bus board again"))
    done_in_words = " · ".join(row["name"] for row in rows[:done])
    right = sentences[done]
    slips = (
        Slip(
            sentences[-1],
            "Not yet. Until every step before it is done, the proof that it is dead included, nobody reaches in.",
        ),
        Slip(
            "Open the drive's cover and look whether its light is out.",
            "A light that is out proves nothing. The DC link can be charged, and only a meter tells.",
        ),
        Slip(
            "Begin to measure; a colleague watches the switch.",
            "A colleague is no lock. Your own lock holds the switch, and local rules say how.",
        ),
    )
    return Question(
        f"You want to {aim} at the {drive}. Done so far:\n{done_in_words}.\nWhat comes next?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        ("Isolation goes step by step, and none is left out.", f"Step {done + 1}: {right}"),
        slips,
    )


def cost(draw: Draw) -> Question:
    """What a round of readings costs in minutes, isolating included."""
    dead = draw.some(list(where("instruments", bus="dead")), draw.whole(1, 2))
    alive = draw.some(list(where("instruments", bus="alive")), draw.whole(1, 3))
    chosen = draw.shuffled([*alive, *dead])
    looking = sum(row.number("minutes") for row in chosen)
    around = {way: one("practice_work", name=f"{way}_minutes").number("value") for way in ("isolate", "restore")}
    whole = looking + sum(around.values())
    return Question(
        "You take these readings, one place each. Those for which the bus must be dead are taken together, so the bus "
        f"is isolated once ({around['isolate']:g} min) and brought back once ({around['restore']:g} min).\n"
        "How long does it take? Answer in min.",
        Number("min", also=("minutes",)),
        whole,
        (
            "Add the readings. Does one of them need a dead bus? Then add isolating and bringing back, once.",
            f"{' + '.join(format(row.number('minutes'), 'g') for row in chosen)} = {looking:g} min for the readings.",
            f"{looking:g} + {around['isolate']:g} + {around['restore']:g} = {whole:g} min.",
        ),
        (
            Slip(looking, "Isolating and bringing back were forgotten. They cost more than the readings."),
            Slip(looking + around["isolate"], "The bus has to be brought back too, with everybody clear."),
            Slip(
                whole + sum(around.values()),
                "Once is enough: take all readings for which the bus must be dead in one go.",
            ),
        ),
        rows=[{"reading": row["name"], "min": row.number("minutes"), "bus": row["bus"]} for row in chosen],
    )


KINDS: dict[str, Kind] = {
    "first-reading": first_reading,
    "one-or-many": one_or_many,
    "next-plug": next_plug,
    "how-many-cuts": how_many_cuts,
    "order": order,
    "ohms": ohms,
    "excludes": excludes,
    "retries": retries,
    "diagnosis-bit": diagnosis_bit,
    "goes-quiet": goes_quiet,
    "safe-order": safe_order,
    "cost": cost,
}
