"""What a station objects to: each thing that its description does not offer, and no more."""

import pytest

from helpers import facts
from helpers.bus.services.accepted import objections
from helpers.bus.services.set_prm import SetPrm, build
from helpers.device.description.modules import configure
from helpers.device.description.read import read_description
from helpers.verdict import Degree

FOLDER = facts.DATA / "demo" / "descriptions"
NEW = configure(read_description(FOLDER / "Mil_FFF1.gsd"), ["PPO 4"])
OLD = configure(read_description(FOLDER / "Mil_FFF3.gsd"))


def fits(setup, **more):
    return build(ident=setup.description.ident, watchdog_s=0.2, user=setup.user_parameters, **more)


def rules(prm, setup, **more):
    return [found.rule for found in objections(prm, setup, **more)]


def test_what_the_description_says_itself_is_not_objected_to():
    assert rules(fits(NEW), NEW, configuration=NEW.identifiers) == []
    assert rules(fits(OLD), OLD, configuration=OLD.identifiers) == []


@pytest.mark.parametrize(
    ("flag", "keyword", "rule"),
    [("Sync_Req", "Sync_Mode_supp", "sync"), ("Freeze_Req", "Freeze_Mode_supp", "freeze")],
)
def test_what_is_asked_for_and_not_offered(flag, keyword, rule):
    # Norgren FD67 manual p.26: a station that can not do it refuses.
    for setup in (NEW, OLD):
        offered = bool(setup.description.number(keyword))
        assert (rule in rules(fits(setup, flags=("Lock_Req", flag)), setup)) is not offered


def test_the_bits_of_dpv1_count_where_those_octets_are_meant():
    prm = SetPrm(OLD.description.ident, factor_2=20, user=bytes([0x84, 0, 0]) + OLD.user_parameters)
    assert "DPV1" not in rules(prm, OLD)  # to this station they are parameters of its own
    assert {"DPV1", "a watchdog base of 1 ms"} <= set(rules(prm, OLD, dpv1=True))
    user = bytes([0x84, 0, 0]) + NEW.user_parameters[3:]
    assert rules(SetPrm(NEW.description.ident, factor_2=20, user=user), NEW) == []


def test_another_ident_number_length_or_configuration():
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734: the ident number has to be the station's own.
    wrong = SetPrm(0xFFF2, factor_2=20, user=NEW.user_parameters + b"\0")
    found = objections(wrong, NEW, configuration=b"\xf1")
    assert [one.rule for one in found] == ["ident number", "octets of parameters", "configuration"]
    assert [one.degree for one in found] == [Degree.BY_STANDARD, Degree.CAUTION, Degree.CANNOT_WORK]
    assert "F1" in found[2].found and "F5" in found[2].found


def test_min_tsdr_above_max_tsdr_of_the_bit_rate():
    # max TSDR at 1.5 Mbit/s is 150 bit times in the table of the bit rates.
    assert rules(fits(NEW, min_tsdr_bits=150), NEW, bit_rate=1_500_000) == []
    assert rules(fits(NEW, min_tsdr_bits=151), NEW, bit_rate=1_500_000) == ["min TSDR"]
