"""What a station would have against its parameters and its configuration, as far as its description tells."""

from __future__ import annotations

from helpers.bus.services import chk_cfg, set_prm
from helpers.bus.services.set_prm import SetPrm
from helpers.bus.time.timing import bus_timing
from helpers.device.description.keywords import keywords
from helpers.device.description.model import Description
from helpers.device.description.modules import Setup
from helpers.device.identifiers import decode
from helpers.verdict import Degree, Finding

# What may be asked for only if the description offers it: the bit of Set_Prm, the keyword, the words.
_OFFERED = (
    ("Sync_Req", "Sync_Mode_supp", "sync"),
    ("Freeze_Req", "Freeze_Mode_supp", "freeze"),
    ("DPV1_Enable", "DPV1_Slave", "DPV1"),
    ("WD_Base_1ms", "WD_Base_1ms_supp", "a watchdog base of 1 ms"),
    ("Fail_Safe", "Fail_Safe", "fail-safe"),
)


def offered(description: Description) -> frozenset[str]:
    """The bits of Set_Prm that a station of this description can obey, of those that have to be offered.

    >>> from helpers.device.description.read import read_description
    >>> from helpers.facts import DATA
    >>> sorted(offered(read_description(DATA / "demo/descriptions/Mil_FFF1.gsd")))
    ['DPV1_Enable', 'Fail_Safe', 'Freeze_Req', 'Sync_Req', 'WD_Base_1ms']
    """
    return frozenset(bit for bit, keyword, _ in _OFFERED if description.number(keyword))


def objections(
    prm: SetPrm, setup: Setup, *, configuration: bytes | None = None, bit_rate: float | None = None,
    dpv1: bool = False, place: str = "station",
) -> tuple[Finding, ...]:  # fmt: skip
    r"""What the station of this description, with these modules, or caution, has against what is sent to it.

    Parameters: prm, the parameters sent; setup, the station as planned from its description; configuration, the
    octets of Chk_Cfg if known; bit_rate [bit/s], for max TSDR, if known; dpv1, whether octets 8 to 10 are meant as
    those of DPV1 even if the description offers none; place, the name for the findings.
    Return: the findings; empty if nothing. Errors: as `bus_timing` and `identifiers.decode`.
    Source: that only what a description offers may be asked for: ISO 15745-3:2003, annex on the device description.

    >>> from helpers.device.description.model import Description, Module
    >>> from helpers.device.description.modules import configure
    >>> one = configure(Description(modules=(Module("PPO 3", b"\xf1"),)))
    >>> [found.rule for found in objections(SetPrm(0xFFF1, frozenset({"Lock_Req", "WD_On", "Sync_Req"})), one)]
    ['sync']
    """
    description = setup.description
    longest = None if bit_rate is None else int(bus_timing(bit_rate).max_tsdr_bits)
    found = list(set_prm.check(prm, own_ident=description.ident, max_tsdr_bits=longest, place=place))
    by_dpv1 = dpv1 or bool(description.number("DPV1_Slave"))
    asked = prm.flags | (prm.dpv1_flags if by_dpv1 else frozenset())
    for bit, keyword, words in _OFFERED:
        if bit in asked and not description.number(keyword):
            found.append(Finding(
                words, place, "asked for", f"not offered ({keyword})", keywords()[keyword.lower()].fact.cited,
                "Switch it off for this station in the engineering computer.", Degree.CANNOT_WORK,
            ))  # fmt: skip
    if len(prm.user) != len(setup.user_parameters):
        found.append(Finding(
            "octets of parameters", place, f"{len(prm.user)} behind the seventh",
            f"{len(setup.user_parameters)} by the description", "common practice: most stations refuse another length",
            "Choose the description and the modules anew, and load the controller.", Degree.CAUTION,
        ))  # fmt: skip
    if configuration is not None:
        found += [
            Finding("configuration", place, why, "the same octets", "WAGO 750-833 manual p.79 (device manual)",
                    "Make the format in the drive and in the controller the same; then load.", Degree.CANNOT_WORK)
            for why in chk_cfg.compare(decode(configuration), setup.configuration)
        ]  # fmt: skip
    return tuple(found)
