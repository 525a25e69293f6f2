"""Set_Prm against published octets, both directions, and its watchdog, lock, groups and DPV1 octets."""

import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.services import bits, set_prm
from helpers.bus.services.set_prm import SetPrm, build, decode, encode
from helpers.errors import OutOfRange, Unknown
from helpers.verdict import Degree

PUBLISHED = facts.where("published/bus_services", service="Set_Prm")
OCTET_1 = [row["name"] for row in facts.where("set_prm_bits", octet=1)]

octet = st.integers(0, 0xFF)
parameters = st.builds(
    SetPrm,
    st.integers(0, 0xFFFF),
    st.frozensets(st.sampled_from(OCTET_1)),
    octet,
    octet,
    octet,
    st.frozensets(st.integers(1, 8)),
    st.binary(max_size=237),
)


def test_published_octets_both_ways():
    # ABB FPBA-01 manual p.76
    (row,) = PUBLISHED
    flags = frozenset({"Lock_Req", "Sync_Req", "Freeze_Req", "WD_On"})
    both_ways(row["octets"], SetPrm(0x0959, flags, 1, 1, 11), decode=decode, encode=encode)
    assert set_prm.summary(bytes.fromhex(row["octets"])) == (
        "locked, ident 16#0959, watchdog 10 ms, min TSDR 11, no group"
    )


@given(parameters)
def test_octets_are_read_as_they_were_written(prm):
    both_ways(encode(prm), prm, decode=decode, encode=encode)
    for dpv1 in (None, True, False):
        lines = set_prm.explain(prm.octets, dpv1=dpv1)
        assert b"".join(line.octets for line in lines) == prm.octets
        assert [line.first for line in lines] == [1 + sum(len(x.octets) for x in lines[:n]) for n in range(len(lines))]
        assert all(line.meaning and line.name for line in lines)
        assert set_prm.summary(prm.octets, dpv1=dpv1)


def test_length_at_both_sides_of_the_limit():
    # PROFIBUS Specification p.734: 7 standard octets, extendable to 244
    for size in (7, 244):
        assert len(encode(decode(bytes(size)))) == size
    for size in (0, 6, 245):
        with pytest.raises(OutOfRange, match=f"is {size}; allowed is 7 to 244"):
            decode(bytes(size))
    with pytest.raises(OutOfRange, match="is 245"):
        encode(SetPrm(1, user=bytes(238)))


@pytest.mark.parametrize(
    ("octet", "lock"),
    # Norgren FD67 manual p.26, Festo CP-FB13 manual p.2-33: 00 only min TSDR, 10 locked, 01 and 11 released
    [(0x00, "only min TSDR"), (0x80, "locked"), (0x40, "released"), (0xC0, "released")],
)
def test_lock_bits(octet, lock):
    octets = bytes((octet, 1, 1, 11, 0xFF, 0xF1, 0))
    assert decode(octets).lock == lock
    assert set_prm.summary(octets).startswith(lock)


@pytest.mark.parametrize(
    ("one", "two", "time_s"),
    # PROFIBUS Specification p.734 eq. 8: 10 ms · WD_Fact_1 · WD_Fact_2, 10 ms to 650 s
    [(1, 1, 0.01), (255, 255, 650.25), (10, 20, 2.0)],
)
def test_watchdog_both_ways(one, two, time_s):
    assert SetPrm(1, factor_1=one, factor_2=two).watchdog_s() == time_s
    made = build(ident=1, watchdog_s=time_s)
    assert made.watchdog_s() == time_s
    assert made.flags == {"Lock_Req", "WD_On"}


def test_the_1_ms_base_is_the_published_octet():
    # Optris DP manual p.18: bit 2 of the first DPV1 octet; the default C4 of a Lenze EPM station fits
    rows = facts.where("published/bus_services", service="DPV1")
    enabled, short = (bytes.fromhex(row["octets"]) for row in rows)
    assert SetPrm(1, factor_1=20, user=enabled).watchdog_s(dpv1=True) == 0.2
    assert SetPrm(1, factor_1=20, user=short).watchdog_s(dpv1=True) == 0.02
    assert SetPrm(1, factor_1=20, user=short).watchdog_s() == 0.2  # the station's own octets, if it has no DPV1
    assert SetPrm(1, user=enabled).dpv1_flags == {"DPV1_Enable"}
    assert SetPrm(1, user=short).dpv1_flags == {"DPV1_Enable", "Fail_Safe", "WD_Base_1ms"}
    assert SetPrm(1, user=short[:2]).dpv1_flags == frozenset()
    made = build(ident=1, watchdog_s=0.02, base_s=0.001, dpv1=["Fail_Safe"])
    assert (made.user, made.watchdog_s(dpv1=True)) == (short, 0.02)
    assert build(ident=1, dpv1=[]).user == enabled
    with pytest.raises(OutOfRange, match="without DPV1 is 10 ms"):
        build(ident=1, watchdog_s=0.02, base_s=0.001)


def test_what_is_told_of_the_watchdog():
    def told(prm, dpv1=None):
        return set_prm.explain(prm.octets, dpv1=dpv1)[1].meaning

    assert told(SetPrm(1, frozenset())) == "1 and 1, not used: the watchdog is off"
    assert "a factor of 0 gives no time" in told(SetPrm(1, factor_1=0))
    assert SetPrm(1, factor_2=0).watchdog_s() is SetPrm(1, frozenset()).watchdog_s() is None
    short = SetPrm(1, factor_1=50, user=bytes.fromhex("84 00 00"))
    assert told(short) == "watchdog 1 ms · 50 · 1 = 50 ms if the station works by DPV1, 10 ms · 50 · 1 = 500 ms if not"
    assert told(short, True) == "watchdog 1 ms · 50 · 1 = 50 ms"
    assert told(short, False) == "watchdog 10 ms · 50 · 1 = 500 ms"
    assert set_prm.summary(short.octets).count("watchdog 50 ms") == 1
    assert "watchdog off" in set_prm.summary(SetPrm(1, frozenset({"Lock_Req"})).octets)


def test_what_is_told_of_the_other_octets():
    lines = set_prm.explain(
        SetPrm(0xFFF1, frozenset({"Unlock_Req", "reserved 1.0"}), groups=frozenset({2}), min_tsdr_bits=0).octets
    )
    told = " / ".join(line.meaning for line in lines)
    assert "released" in told and "reserved 1.0 is 1" in told
    assert "the old value stays" in told
    assert "group 2; not taken, as Lock_Req is 0" in told
    sync = set_prm.explain(SetPrm(1, frozenset({"Lock_Req", "Sync_Req", "Freeze_Req"})).octets)[0].meaning
    assert "sync will be used; freeze will be used; watchdog off" in sync
    user = set_prm.explain(SetPrm(1, user=bytes.fromhex("C0 00 00 55 66")).octets)
    assert [line.name for line in user[5:]] == ["DPV1_Status_1", "DPV1_Status_2", "DPV1_Status_3", "User_Prm_Data"]
    assert user[5].meaning.startswith("if the station works by DPV1: DPV1_Enable")
    assert "no bit is 1" in set_prm.explain(SetPrm(1, user=bytes(3)).octets, dpv1=True)[6].meaning
    assert [line.name for line in set_prm.explain(SetPrm(1, user=bytes(3)).octets, dpv1=False)[5:]] == ["User_Prm_Data"]


def test_bit_by_bit():
    short = SetPrm(1, user=bytes.fromhex("C4 00 00")).octets
    assert [row.name for row in set_prm.bit_rows(short)] == OCTET_1
    rows = set_prm.bit_rows(short, dpv1=True)
    assert len(rows) == 32
    assert {row.name for row in rows if row.value} == {"Lock_Req", "WD_On", "DPV1_Enable", "Fail_Safe", "WD_Base_1ms"}
    assert all(row.meaning and row.source for row in rows)


@pytest.mark.parametrize(
    ("wrong", "error", "says"),
    [
        (SetPrm(0x10000), OutOfRange, "ident number is 65536"),
        (SetPrm(-1), OutOfRange, "ident number is -1"),
        (SetPrm(1, factor_1=256), OutOfRange, "WD_Fact_1 is 256"),
        (SetPrm(1, factor_2=-1), OutOfRange, "WD_Fact_2 is -1"),
        (SetPrm(1, min_tsdr_bits=256), OutOfRange, "min TSDR is 256"),
        (SetPrm(1, groups=frozenset({0})), OutOfRange, "group is 0; allowed is 1 to 8"),
        (SetPrm(1, groups=frozenset({9})), OutOfRange, "group is 9"),
        (SetPrm(1, frozenset({"Lock"})), Unknown, "known are Lock_Req"),
        (SetPrm(1, frozenset({"Fail_Safe"})), OutOfRange, "Fail_Safe is no bit of octet 1"),
    ],
)
def test_what_can_not_be_written(wrong, error, says):
    with pytest.raises(error, match=says):
        encode(wrong)


def test_build_refuses_what_it_can_not_make():
    with pytest.raises(Unknown):
        build(ident=1, dpv1=["Fail safe"])
    with pytest.raises(OutOfRange, match="watchdog time"):
        build(ident=1, watchdog_s=700)
    assert build(ident=1, flags=["Lock_Req", "WD_On"]).flags == {"Lock_Req"}  # no time, no watchdog
    assert build(ident=1, groups=[3], user=b"\x01").octets.hex(" ") == "80 01 01 0b 00 01 04 01"


def test_check():
    assert set_prm.check(SetPrm(0xFFF1), own_ident=0xFFF1) == ()
    assert set_prm.check(SetPrm(0xFFF1)) == ()

    def found(prm, **known):
        return {finding.rule: finding.degree for finding in set_prm.check(prm, **known)}

    assert found(SetPrm(1, frozenset({"Lock_Req"}))) == {"watchdog": Degree.CAUTION}
    assert found(SetPrm(1, factor_1=0)) == {"watchdog": Degree.CANNOT_WORK}
    # PROFIBUS Specification p.734: the ident must be the station's own, except for a bare change of min TSDR
    assert found(SetPrm(1), own_ident=2) == {"ident number": Degree.BY_STANDARD}
    assert found(SetPrm(1, frozenset()), own_ident=2) == {}
    # the same page: min TSDR 0 to max TSDR, up to 255 where FMS stations are about
    assert found(SetPrm(1, min_tsdr_bits=60), max_tsdr_bits=60) == {}
    assert found(SetPrm(1, min_tsdr_bits=61), max_tsdr_bits=60) == {"min TSDR": Degree.CAUTION}
    assert found(SetPrm(1, frozenset({"Unlock_Req"}), groups=frozenset({1}))) == {"groups": Degree.CAUTION}


def test_every_bit_of_every_octet_has_a_row():
    for table, octets in (
        ("set_prm_bits", (1, 8, 9, 10)),
        ("diagnosis_bits", (1, 2, 3)),
        ("global_control_bits", (1,)),
    ):
        assert {row.whole("octet") for row in facts.rows(table)} == set(octets)
        assert len(set(bits.names(table))) == len(bits.names(table)) == 8 * len(octets)
        for number in octets:
            for value in range(256):
                assert [row.bit for row in bits.rows(table, number, value)] == [7, 6, 5, 4, 3, 2, 1, 0]
                assert bits.octet_of(table, number, bits.flags(table, number, value)) == value
    with pytest.raises(OutOfRange):
        bits.rows("set_prm_bits", 1, 256)
