"""Questions on what a reading says: ohms, retries, a diagnosis bit, and what a reading excludes.

They belong to the bank of lesson "faults"; see `helpers.study.bank_faults`.
"""

from __future__ import annotations

from helpers.facts import one, where
from helpers.line.faults.catalogue import by_key
from helpers.study.bank_formats import DRIVES
from helpers.study.forms import Choice
from helpers.study.question import Draw, Question, Slip

_DEAD = "The bus is without supply, every device is unplugged, and this was proved with the meter."
# Instruments whose healthy reading is worth a question, and how it looks then.
_AS_USUAL = {
    "stations": "The station table shows all stations in data exchange, none repeated, none lost",
    "ohms": "With the bus dead, the ohmmeter shows the same as on the day of handover, at every plug",
    "settings": "All settings in the drives are as in the plan, and active",
    "project": "The project is as in the plan, and the controller has the same",
    "io sheet": "The I/O test sheet shows for every drive the words that belong there",
}


def _choice(draw: Draw, right: str, slips: tuple[Slip, ...]) -> Choice:
    return Choice(tuple(draw.shuffled((right, *(slip.answer for slip in slips)))))


def ohms(draw: Draw) -> Question:
    """What a resistance between B and A means."""
    rt = one("terminator", name="rt_ohm").number("value")
    count = draw.whole(1, 3)
    cable = draw.whole(0, 4)
    shown = round(rt / count + cable)
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
        f"{_DEAD} Between B and A at the plug of the {place}, mid-segment, the meter shows {shown} Ω. "
        f"Each terminator has {rt:g} Ω between B and A.\nWhat does that mean?",
        _choice(draw, right, slips),
        right,
        (
            "Terminators lie side by side between B and A. Divide one by the reading.",
            f"{rt:g} Ω / {shown} Ω is about {count}: {right}.",
        ),
        slips,
    )


def excludes(draw: Draw) -> Question:
    """Which fault a healthy reading excludes; from the table that was made by running every fault."""
    rows = where("demo/fault_readings")
    key = draw.pick(tuple(_AS_USUAL))
    shows = sorted({by_key(row["fault"]).name for row in rows if row["instrument"] == key})
    silent = sorted({by_key(row["fault"]).name for row in rows} - set(shows))
    right, others = draw.pick(shows), draw.some(silent, 3)
    return Question(
        f"The {draw.pick(DRIVES)} does not do what it should. {_AS_USUAL[key]}.\n"
        "Which of these faults does that exclude?",
        Choice(tuple(draw.shuffled((right, *others)))),
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
        _choice(draw, right, slips),
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
_SAYS = {bit: one("diagnosis_bits", name=bit)["one"] for bit in _CAUSES}


def diagnosis_bit(draw: Draw) -> Question:
    """From a diagnosis bit to its cause."""
    right, *others = draw.some(tuple(_CAUSES), 4)
    return Question(
        f"The diagnosis of the {draw.pick(DRIVES)}, bus address {draw.whole(3, 60)}, has one bit of octet 1 at 1: "
        f"{right}.\nWhat is the likely cause?",
        Choice(tuple(draw.shuffled([_CAUSES[bit] for bit in (right, *others)]))),
        _CAUSES[right],
        (
            f"Read the bit's name as a sentence: {_SAYS[right]}.",
            f"So look here: {_CAUSES[right]}.",
        ),
        tuple(Slip(_CAUSES[bit], f"That would be {bit}: {_SAYS[bit]}.") for bit in others),
    )
