"""Checks of a description, each from both sides. Sources stand in data/description_keywords.csv and its neighbours."""

import pytest

from helpers import facts
from helpers.device.description.checks import check
from helpers.device.description.keywords import keywords, revisions
from helpers.device.description.read import read_description
from helpers.verdict import Degree, worst

DEMO = facts.DATA / "demo/descriptions"
MODULAR = (DEMO / "Mil_FFF1.gsd").read_text(encoding="ascii")


def found(text, rule, name="Mil_FFF1.gsd"):
    """The degrees of the findings of one rule."""
    return [one.degree for one in check(read_description(text.encode(), name)) if one.rule == rule and one.degree]


def without(keyword):
    return "\n".join(line for line in MODULAR.split("\n") if not line.startswith(f"{keyword} "))


@pytest.mark.parametrize("name", ["Mil_FFF1.gsd", "Mil_FFF1.gsg", "Mil_FFF2.gsd", "newer/Mil_FFF1.gsd"])
def test_good_descriptions_are_in_order(name):
    assert worst(check(read_description(DEMO / name))) is Degree.IN_ORDER


@pytest.mark.parametrize(
    "keyword",
    # esd CAN-DP and CPCI-DP manuals, commented listing: marked as mandatory there
    ["GSD_Revision", "Vendor_Name", "Model_Name", "Revision", "Ident_Number", "Protocol_Ident", "Station_Type",
     "Hardware_Release", "Software_Release"],
)  # fmt: skip
def test_a_mandatory_keyword_that_is_missing(keyword):
    assert found(without(keyword), "mandatory keyword") == [Degree.CAUTION]
    assert found(MODULAR, "mandatory keyword") == []


@pytest.mark.parametrize(
    ("old", "new", "rule", "degree"),
    [
        ("Ident_Number = 0xFFF1", "Ident_Number = 0xFFF2", "ident number and file name", Degree.CAUTION),
        ("GSD_Revision = 5", "GSD_Revision = 6", "revision", Degree.CAUTION),
        ("GSD_Revision = 5", "GSD_Revision = 0", "revision", Degree.CAUTION),
        ("Protocol_Ident = 0", "Protocol_Ident = 1", "kind of station", Degree.CANNOT_WORK),
        ("Station_Type = 0", "Station_Type = 1", "kind of station", Degree.CANNOT_WORK),
        ("Slave_Family = 1", "Slave_Family = 13", "kind of device", Degree.CAUTION),
        ('"Mill drive M"', f'"{"M" * 33}"', "length of a text", Degree.CAUTION),
        ("MaxTsdr_12M = 800", "MaxTsdr_12M = 801", "longest answer time", Degree.CAUTION),
        ("MaxTsdr_12M = 800", "", "longest answer time", Degree.CAUTION),
        ("Auto_Baud_supp = 1", "Auto_Baud_supp = 0", "automatic bit-rate detection", Degree.CAUTION),
        ("Auto_Baud_supp = 1", "", "automatic bit-rate detection", Degree.CAUTION),
        ("Min_Slave_Intervall = 10", "Min_Slave_Intervall = 0", "shortest time between cycles", Degree.CAUTION),
        ("Max_Input_Len = 32", "Max_Input_Len = 19", "lengths", Degree.CANNOT_WORK),
        ("Max_Input_Len = 32", "Max_Input_Len = 247", "lengths", Degree.BY_EVERY_SOURCE),
        ("Max_Diag_Data_Len = 16", "Max_Diag_Data_Len = 5", "length of the diagnosis", Degree.BY_EVERY_SOURCE),
        ("Max_Diag_Data_Len = 16", "Max_Diag_Data_Len = 245", "length of the diagnosis", Degree.BY_EVERY_SOURCE),
        ("0xE1,0xD2\n", "0xC1\n", "identifiers", Degree.CANNOT_WORK),
        ('"PPO 4"', '"PPO 1"', "modules", Degree.CAUTION),
        (" 7 7\n", " 10 10\n", "slots", Degree.CAUTION),
        ("Max_User_Prm_Data_Len = 13", "Max_User_Prm_Data_Len = 6", "parameter octets", Degree.CANNOT_WORK),
        ("Ext_Module_Prm_Data_Len = 2", "", "parameter octets", Degree.CAUTION),
        ("Ext_User_Prm_Data_Ref(6) = 4", "Ext_User_Prm_Data_Ref(6) = 40", "references", Degree.CANNOT_WORK),
        ("Prm_Text_Ref = 2", "Prm_Text_Ref = 3", "references", Degree.CANNOT_WORK),
        ("Signed8 0 -20-20", "Signed8 -21 -20-20", "default of a parameter", Degree.CAUTION),
        ("BitArea(0-1) 1 0-2", "BitArea(0-1) 3 0-3", "texts of a parameter", Degree.CAUTION),
    ],
)  # fmt: skip
def test_each_check_from_both_sides(old, new, rule, degree):
    assert old in MODULAR
    assert found(MODULAR, rule) == []
    assert set(found(MODULAR.replace(old, new), rule)) == {degree}


def test_parameters_of_device_and_module_together_against_what_the_device_takes():
    # 7 octets of the device and 2 of its one module that has parameters
    def most(octets):
        return MODULAR.replace("Max_User_Prm_Data_Len = 13", f"Max_User_Prm_Data_Len = {octets}")

    assert found(most(9), "parameter octets") == []
    assert found(most(8), "parameter octets") == [Degree.CANNOT_WORK]
    # 6 octets of the module more: 13 are allowed, 15 are too many
    longer = MODULAR.replace("Ext_Module_Prm_Data_Len = 2", "Ext_Module_Prm_Data_Len = 8")
    assert found(longer, "parameter octets") == [Degree.CANNOT_WORK]


def test_memory_says_nothing_against_a_file():
    # The length of a line, which revision brought a keyword, and that a device with modules has to have these two
    # were found in no document.
    assert found(MODULAR.replace("Max_Output_Len = 32", ""), "lengths") == []
    assert found(MODULAR.replace("Max_Module = 2", "Max_Module = 0"), "lengths") == []
    assert found(MODULAR.replace("; --- texts", ";" + "-" * 80), "length of a line") == []
    assert found(MODULAR.replace("GSD_Revision = 5", "GSD_Revision = 2"), "keywords of the revision") == []


def test_lengths_that_just_fit():
    # The largest module, PPO 2, has 20 bytes of input. M. Felser, PROFIBUS Manual, telegram formats: 246 octets.
    for length in (20, 246):
        assert found(MODULAR.replace("Max_Input_Len = 32", f"Max_Input_Len = {length}"), "lengths") == []


def test_octets_that_are_not_as_many_as_said():
    compact = (DEMO / "Mil_FFF2.gsd").read_text(encoding="ascii")
    assert found(compact, "parameter octets") == []
    assert found(compact.replace("_Len = 2", "_Len = 3"), "parameter octets") == [Degree.CANNOT_WORK]


def test_no_bit_rate_at_all():
    text = "\n".join(line for line in MODULAR.split("\n") if not line.startswith(("1", "3M", "4", "5", "6M", "9")))
    assert found(text, "bit rates") == [Degree.CANNOT_WORK]


def test_the_faulty_description_shows_each_kind_of_finding():
    rules = {one.rule for one in check(read_description(DEMO / "Mil_FFF4.gsd")) if one.degree}
    assert {"reading", "mandatory keyword", "ident number and file name", "lengths", "identifiers", "references",
            "parameter octets", "longest answer time", "automatic bit-rate detection"} <= rules  # fmt: skip


def test_every_finding_has_a_source_and_what_to_do():
    for one in check(read_description(DEMO / "Mil_FFF4.gsd")):
        assert one.source
        assert bool(one.to_do) == (one.degree is not Degree.IN_ORDER)


@pytest.mark.parametrize(
    "line",
    # Delta PD-01 manual p.21: a printed description with GSD_Revision = 1 has them; M. Felser, PROFIBUS Manual,
    # Definitions in the GSD: the extended way of parameters exists from revision 1 on.
    ["Slave_Family = 1", "Redundancy = 0", "Auto_Baud_supp = 1", "Max_User_Prm_Data_Len = 13"],
)
def test_a_keyword_of_the_first_revision_is_no_newer_one(line):
    start = "#Profibus_DP\nGSD_Revision = 1\n"
    assert found(f"{start}{line}\n", "keywords of the revision") == []
    # esd CAN-DP and CPCI-DP manuals, commented listing: 45.45 kbit/s came with revision 2.
    assert found(f"{start}{line}\n45.45_supp = 1\n", "keywords of the revision") == [Degree.CAUTION]


def test_every_revision_is_of_a_known_keyword():
    assert set(revisions()) <= set(keywords())


@pytest.mark.parametrize(
    "line",
    # M. Felser, PROFIBUS Manual, kinds of alarm; ISO 15745-3:2003 (GOST R ISO 15745-3-2010), p.183
    ["Pull_Plug_Alarm_required = 1", "X_Ext_User_Prm_Data_Const(0) = 0x00", "X_Ext_User_Prm_Data_Ref(0) = 1"],
)
def test_a_printed_keyword_is_known(line):
    assert read_description(f"#Profibus_DP\n{line}\n".encode()).unknown == ()
