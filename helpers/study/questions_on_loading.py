"""Questions on what is saved, what is loaded, what is active, and in which order a network is set up."""

from __future__ import annotations

from helpers.device.formats import by_name
from helpers.study.forms import Choice, Number
from helpers.study.question import Draw, Kind, Question, Slip

_DRIVES = ("intake conveyor", "bucket elevator", "dryer fan 1", "dryer fan 2", "cooling fan", "discharge screw")
_FORMATS = ("PPO 1", "PPO 2", "PPO 3", "PPO 4", "PPO 5")


def saved_not_loaded(draw: Draw) -> Question:
    """How a station behaves after a change that was saved or loaded, with or without a power cycle."""
    old, new = draw.some(_FORMATS, 2)
    in_drive, loaded = draw.whole(0, 1), draw.whole(0, 1)
    asked, has = (new if loaded else old), (new if in_drive else old)
    drive, address = draw.pick(_DRIVES), draw.whole(3, 125)
    works = asked == has
    at_drive = "switched its supply off and on" if in_drive else "left its supply on"
    at_desk = "saved the project and loaded the controller" if loaded else "saved the project"
    answers = {
        "new": f"it exchanges data with {new}",
        "old": f"it exchanges data with {old}",
        "cfg": "it refuses the configuration: Cfg_Fault",
        "prm": "it refuses the parameters: Prm_Fault",
    }
    right = ("new" if loaded else "old") if works else "cfg"
    why = {
        "new": f"The new format counts only where it was loaded, and where the drive has been off. One of them is {old}"
        " still." if not works else f"Neither of them has taken over {new} yet.",
        "old": f"Not both of them work with {old}." if not works else f"Both of them work with {new} now.",
        "cfg": "Controller and drive have the same format, so nothing is refused.",
        "prm": "The ident number and the parameters have not changed; Prm_Fault is for those.",
    }  # fmt: skip
    return Question(
        f"The {drive} drive, address {address}, ran with {old}. You set it to {new} at the drive and {at_drive}. Its "
        f"manual says: a new format counts only after the supply was off and on. At the desk you chose {new} and "
        f"{at_desk}.\n"
        "The controller starts the drive anew. What happens?",
        Choice(tuple(draw.shuffled(list(answers.values())))),
        answers[right],
        steps=(
            "Ask for each side what counts there now: what is loaded in the controller, and what is active in the "
            "drive.",
            f"Loaded is {asked}; active is {has}.",
            f"So {answers[right]}.",
        ),
        slips=tuple(Slip(answers[key], why[key]) for key in answers if key != right),
    )


def not_loaded_bytes(draw: Draw) -> Question:
    """How many output bytes still travel when a change was saved but not loaded."""
    sized = [by_name(form) for form in _FORMATS]
    old, new = draw.some(sized, 2)
    while len(old.words("out")) == len(new.words("out")):
        old, new = draw.some(sized, 2)
    sizes = [2 * len(form.words("out")) for form in (old, new)]
    return Question(
        f"The {draw.pick(_DRIVES)} drive at address {draw.whole(3, 125)} works with {old.name}. At the desk somebody "
        f"chooses {new.name} for it and saves the project. Nothing is loaded, and nobody touches the drive.\n"
        "How many bytes does the controller send to it in each cycle? Answer in bytes.",
        Number("bytes"),
        float(sizes[0]),
        rows=[{"format": form.name, "words to the drive": len(form.words("out"))} for form in sized],
        steps=(
            "The controller works with what was loaded into it last.",
            f"That is {old.name}, with {sizes[0] // 2} words; a word has two bytes.",
            f"{sizes[0] // 2} × 2 = {sizes[0]} bytes.",
        ),
        slips=(
            Slip(float(sizes[1]), "Saved is not loaded: the controller does not know of the change yet."),
            Slip(float(sizes[0] // 2), "Those are words; a word has two bytes."),
            Slip(0.0, "Nothing stops: the old project runs on in the controller."),
        ),
    )


def who_first(draw: Draw) -> Question:
    """What is set up first, and why the other way round fails."""
    drive, address = draw.pick(_DRIVES), draw.whole(3, 125)
    right = "load the controller with the new station, then set the drive and switch it off and on"
    wrong = {
        "set the drive to the bus and give its run command there, then plan the station some day":
            "A drive that waits for the bus does nothing until a controller asks it; nothing can be tested meanwhile.",
        "save the project, set the drive, and wait until the controller finds it":
            "A controller finds nothing by itself: it asks the stations that were loaded into it.",
        "set the drive, and give the address in the controller afterwards to whatever answers":
            "Two at one address disturb each other, and who answers is luck. The address is planned first.",
        "switch the drive on first and load the controller while people are at the machine":
            "When the controller is loaded, data exchange begins at once; nobody may be at the machine then.",
    }  # fmt: skip
    shown = draw.some(list(wrong), 3)
    return Question(
        f"A new {drive} drive is to get address {address}. The rest of the network runs.\nWhich order is right?",
        Choice(tuple(draw.shuffled([right, *shown]))),
        right,
        steps=(
            "Ask who speaks first on this bus: a station only answers.",
            "So the controller must know the station, or nobody asks it.",
            f"Therefore: {right}.",
        ),
        slips=tuple(Slip(words, wrong[words]) for words in shown),
    )


LOADING: dict[str, Kind] = {
    "saved-not-loaded": saved_not_loaded,
    "not-loaded-bytes": not_loaded_bytes,
    "who-first": who_first,
}
