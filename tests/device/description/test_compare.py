"""What a newer description does to a network. The files are invented; effects follow from what is sent at start-up."""

import pytest

from helpers import facts
from helpers.device.description.compare import Change, Effect, compare, differs_in_texts_only, keyword_effects, steps
from helpers.device.description.modules import configure
from helpers.device.description.on_bus import compare_with_station, diagnosis_texts, who_tells
from helpers.device.description.read import read_description
from helpers.errors import OutOfRange
from helpers.verdict import Degree

DEMO = facts.DATA / "demo/descriptions"
TEXT = (DEMO / "Mil_FFF1.gsd").read_text(encoding="ascii")
OPTION, FILTER = "option: 16 inputs", "parameter 5, filter of the inputs, in ms"
OLD, NEW, GERMAN = (read_description(DEMO / name) for name in ("Mil_FFF1.gsd", "newer/Mil_FFF1.gsd", "Mil_FFF1.gsg"))


def effects(old, new, used=None):
    return {change.what: change.effect for change in compare(old, new, used)}


def test_the_newer_description():
    found = effects(OLD, NEW)
    assert [what for what, effect in found.items() if effect is Effect.BREAKS] == [
        "module Mill 3/5", "module Mill 5/8: identifiers",
    ]  # fmt: skip
    assert found["Min_Slave_Intervall"] is Effect.TIMING
    assert found["parameter 3, delay before a stop, in 10 ms: default"] is Effect.RELOAD
    assert found["module PPO 3"] is found["Max_Input_Len"] is found["Revision"] is Effect.NONE


def test_a_module_that_nobody_uses_breaks_nothing():
    assert Effect.BREAKS not in effects(OLD, NEW, ["Mill 2/3"]).values()
    assert effects(OLD, NEW, ["Mill 3/5"])["module Mill 3/5"] is Effect.BREAKS


@pytest.mark.parametrize("one", [OLD, NEW, GERMAN])
def test_no_difference_from_itself(one):
    assert compare(one, one) == ()
    assert steps(compare(one, one)) == ()


@pytest.mark.parametrize(
    ("old", "new", "what", "forth", "back"),
    [
        ("0xFFF1", "0xFFF2", "Ident_Number", Effect.BREAKS, Effect.BREAKS),
        ("12M_supp = 1", "12M_supp = 0", "12M_supp", Effect.BREAKS, Effect.NONE),
        ("Max_Module = 2", "Max_Module = 3", "Max_Module", Effect.NONE, Effect.BREAKS),
        ("MaxTsdr_12M = 800", "MaxTsdr_12M = 900", "MaxTsdr_12M", Effect.TIMING, Effect.NONE),
        ("Auto_Baud_supp = 1", "Auto_Baud_supp = 0", "Auto_Baud_supp", Effect.DEVICE, Effect.NONE),
        ("Modul_Offset = 1", "Modul_Offset = 2", "Modul_Offset", Effect.RELOAD, Effect.RELOAD),
        ("Mill_Own_Keyword = 7", "Mill_Own_Keyword = 8", "Mill_Own_Keyword", Effect.RELOAD, Effect.RELOAD),
        ('"PPO 4"', '"four"', "module PPO 4", Effect.RELOAD, None),
        ("FMS_supp = 0\n", "", "FMS_supp", Effect.NONE, Effect.NONE),
        ("Ref(6) = 4", "Ref(5) = 4", "parameters of the device: places of parameters", Effect.RELOAD, Effect.RELOAD),
        ("Slot(2) = \"option\" 7 7", "", "slot 2", Effect.BREAKS, Effect.NONE),
        ("Const(3) = 0x81", "Const(3) = 0x01", "parameters of the device: constants", Effect.RELOAD, Effect.RELOAD),
        ("Prm_Data_Len = 2", "Prm_Data_Len = 3", f"module {OPTION}: parameters: length", Effect.RELOAD, Effect.RELOAD),
        ("0xF5\n6\n", "0xF5\n66\n", "module PPO 4: reference", Effect.RELOAD, Effect.RELOAD),
        ("Unsigned8 3 1,3,10", "Unsigned16 3 1,3,10", f"{FILTER}: type", Effect.RELOAD, Effect.RELOAD),
        ("Unsigned8 3 1,3,10", "Unsigned8 3 1,3,9", f"{FILTER}: allowed", Effect.RELOAD, Effect.RELOAD),
        ("3 1,3,10\n", "3 1,3,10\nChangeable = 0\n", f"{FILTER}: may be changed", Effect.RELOAD, Effect.RELOAD),
        ("filter of the inputs", "input filter", "parameter 5: name", Effect.NONE, Effect.NONE),
        ("= 0x03,0x00", "= 0x0A,0x00", f"module {OPTION}: parameters: constants", Effect.RELOAD, Effect.RELOAD),
        ('"fan worn"', '"fan worn out"', "texts of the diagnosis", Effect.NONE, Effect.NONE),
        ('"ramp down"', '"stop by ramp"', "texts of parameters", Effect.NONE, Effect.NONE),
        ("shorted to the supply", "has a short", "texts of channels", Effect.NONE, Effect.NONE),
    ],
)  # fmt: skip
def test_a_change_there_and_back(old, new, what, forth, back):
    other = read_description(TEXT.replace(old, new).encode(), OLD.file_name)
    assert effects(OLD, other).get(what) is forth
    assert back is None or effects(other, OLD).get(what) is back


def test_a_parameter_that_is_new_or_gone():
    block = TEXT[TEXT.index("ExtUserPrmData = 5") : TEXT.index("Max_User_Prm_Data_Len")]
    without = read_description(TEXT.replace(block, "").encode(), OLD.file_name)
    (gone,) = (change for change in compare(OLD, without) if change.what == "parameter 5")
    (new,) = (change for change in compare(without, OLD) if change.what == "parameter 5")
    assert (gone.before, gone.after, gone.effect) == ("filter of the inputs, in ms", "", Effect.RELOAD)
    assert (new.before, new.after, new.effect) == ("", "filter of the inputs, in ms", Effect.RELOAD)


def test_a_renamed_module_is_known_by_its_reference_only_if_nobody_else_has_its_name():
    other = read_description(TEXT.replace('"PPO 4"', '"four"').encode(), OLD.file_name)
    changes = [change for change in compare(OLD, other) if "PPO 4" in change.what or "four" in change.what]
    assert [(change.what, change.before, change.after) for change in changes] == [("module PPO 4", "PPO 4", "four")]
    assert effects(OLD, other, ["PPO 1"])["module PPO 4"] is Effect.NONE


def test_each_effect_has_words_and_all_but_the_first_something_to_do():
    assert len({effect.words for effect in Effect}) == len(Effect)
    assert [effect for effect in Effect if not effect.to_do] == [Effect.NONE]
    one = Change("Auto_Baud_supp", "1", "0", Effect.DEVICE)
    assert any("at the device itself" in step for step in steps([one]))
    assert not any("Look through the parameters" in step for step in steps([one]))


def test_steps_end_with_loading_and_a_caution_before_it():
    told = steps(compare(OLD, NEW))
    caution, load = (next(n for n, step in enumerate(told) if words in step) for words in ("nobody is at", "load the"))
    assert caution < load < len(told) - 1


def test_a_language_file_differs_in_texts_only():
    assert differs_in_texts_only(OLD, GERMAN)
    assert not differs_in_texts_only(OLD, NEW)


def test_a_station_against_its_description():
    setup = configure(OLD, ["Mill 2/3"])
    same = compare_with_station(setup, ident=0xFFF1, identifiers=b"\xe1\xd2")
    other = compare_with_station(setup, ident=0xFFF2, identifiers=b"\xf1")
    assert [one.degree for one in same] == [Degree.IN_ORDER] * 2
    assert [one.degree for one in other] == [Degree.BY_STANDARD, Degree.CANNOT_WORK]
    with pytest.raises(OutOfRange):
        compare_with_station(setup, ident=0x10000, identifiers=b"")


def test_who_tells_what():
    told = {one.what: one for one in who_tells(OLD)}
    assert (told["ident number"].on_the_bus, told["ident number"].in_the_file) != ("", "")
    assert told["parameters"].on_the_bus == ""
    assert told["parameters"].in_the_file == "00 00 00 81 00 64 00"
    assert told["bit rates"].in_the_file == "10 bit rates, up to 12 Mbit/s"
    assert (told["shortest time between cycles"].in_the_file, told["sync and freeze"].in_the_file) == ("1 ms", "yes")
    bare = {one.what: one.in_the_file for one in who_tells(read_description(b"#Profibus_DP\nSync_Mode_supp = 0"))}
    assert (bare["bit rates"], bare["sync and freeze"], bare["ident number"]) == ("", "no", "")
    old = {one.what: one.in_the_file for one in who_tells(read_description(DEMO / "Mil_FFF3.gsd"))}
    assert old["parameters"] == "01 02 03 04 05"


@pytest.mark.parametrize(
    ("data", "block", "texts"),
    [
        ("00 00", None, []),
        ("01 00", None, ["fan worn"]),
        ("03 02", None, ["fan worn", "supply of the option missing", "motor too warm"]),
        ("01", None, ["fan worn"]),  # the number in bits 8 to 11 is not there
        ("00 00 00 01", 161, ["phase missing"]),
        ("00 00 00 01", None, []),
    ],
)
def test_texts_of_a_diagnosis(data, block, texts):
    assert [one.text for one in diagnosis_texts(OLD, bytes.fromhex(data), block=block)] == texts


def test_the_words_for_each_keyword_are_what_its_change_does():
    def done(keyword, before, after):
        one, other = (read_description(f"#Profibus_DP\n{keyword} = {value}".encode()) for value in (before, after))
        return next((change.effect.words for change in compare(one, other)), "no change")

    told = {row["keyword"]: row["effect"] for row in keyword_effects()}
    assert set(told) == {row["keyword"] for row in facts.rows("description_keywords") if row.has("effect")}
    seen = 0
    for keyword, words in told.items():
        what, _, way = words.partition(", if ")
        if way:
            seen += 1
            up, down = done(keyword, 0, 1), done(keyword, 1, 0)
            assert (what, Effect.NONE.words) == ((up, down) if "greater" in way else (down, up)), keyword
    assert seen > 50
