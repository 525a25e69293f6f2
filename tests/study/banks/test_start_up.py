"""The questions on start-up and diagnosis, answered a second time from their text alone."""

import re

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 60)
# Bits of the first two octets, bit 0 first: Thermo Micro-Tech 9101 manual p.C-75; TR C58 manual p.109.
BITS = {
    "1": "Station_Non_Existent Station_Not_Ready Cfg_Fault Ext_Diag Not_Supported Invalid_Slave_Response Prm_Fault "
    "Master_Lock",
    "2": "Prm_Req Stat_Diag - WD_On Freeze_Mode Sync_Mode - Deactivated",
}
# Words from the controller to the drive: Converteam MV3000e manual p.5-2; ABB FPBA-01 manual p.81.
WORDS = {"PPO 1": 6, "PPO 2": 10, "PPO 3": 2, "PPO 4": 6, "PPO 5": 14}


def drawn(kind):
    return [draw_question("start-up", kind, seed) for seed in SEEDS]


def octets(question):
    return bytes.fromhex(re.search(r"(?:[0-9A-F]{2} )+[0-9A-F]{2}", question.text)[0])


def test_the_order_of_a_start():
    # Moxa MGate 4101 manual p.A-4: diagnosis, parameters, configuration, diagnosis, data exchange
    after = {"first time": "Set_Prm", "parameters and gets SC": "Chk_Cfg", "configuration and gets SC": "Slave_Diag",
             "second time": "Data_Exchange"}  # fmt: skip
    seen = set()
    for question in drawn("next-service"):
        (said,) = [words for words in after if words in question.text]
        seen.add(said)
        assert question.answer == after[said]
    assert seen == set(after)


def test_a_diagnosis_says_what_its_bits_say():
    for question in drawn("refused-what"):
        first = octets(question)[0]
        bit = next(bit for bit in ("Prm_Fault", "Cfg_Fault", "Ext_Diag", "Station_Not_Ready")
                   if first >> BITS["1"].split().index(bit) & 1)  # fmt: skip
        words = {"Prm_Fault": "parameters are", "Cfg_Fault": "configuration is", "Ext_Diag": "fault of its own",
                 "Station_Not_Ready": "not ready yet"}  # fmt: skip
        assert words[bit] in question.answer
    for question in drawn("stat-or-ext"):
        first, second = octets(question)[:2]
        right = "not there" if first & 1 else "no valid data" if second & 2 else "in the blocks" if first & 8 else ""
        assert right in question.answer and (right or question.answer.endswith("nothing is reported"))


def test_one_bit_has_one_name():
    for question in drawn("which-bit"):
        octet, value = re.search(r"octet (\d) is 16#(..)", question.text).groups()
        one = int(value, 16) & (~4 if octet == "2" else 0xFF)
        assert question.answer == BITS[octet].split()[one.bit_length() - 1]
    for question in drawn("first-octet"):
        assert int(question.answer, 2) == int(re.search(r"16#(..)", question.text)[1], 16)


def test_watchdog_ident_number_and_groups_of_set_prm():
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734: eq. 8, and the places of the octets
    for question in drawn("watchdog-time"):
        sent = octets(question)
        assert question.answer == sent[1] * sent[2] * (1 if len(sent) > 7 and sent[7] & 4 else 10)
    for question in drawn("second-factor"):
        wanted, one = re.search(r"of (\d+) ms .* WD_Fact_1 is (\d+)", question.text.replace("\n", " ")).groups()
        assert question.answer * int(one) * 10 == int(wanted)
    for question in drawn("parameter-ident"):
        assert question.answer == int.from_bytes(octets(question)[4:6], "big")
    for question in drawn("groups-octet"):
        groups = re.findall(r"\d", re.search(r"the groups (.+)\.", question.text)[1])
        assert question.answer == sum(2 ** (int(group) - 1) for group in groups)


def test_who_reads_octets_as_decimal_finds_no_letters_in_them():
    told = {}
    for question in drawn("watchdog-time"):
        factors = octets(question)[1:3].hex()
        told[factors] = any("read as decimal" in slip.sentence for slip in question.slips)
        assert factors.isdecimal() or not told[factors]
    assert any(told.values())


def test_the_error_of_a_channel_is_in_the_last_octet():
    # Omron PRM21 manual p.172
    for question in drawn("channel-fault"):
        sent = octets(question)
        assert sent[6] >> 6 == 2
        assert {row["error"]: row["meaning"] for row in question.rows}[sent[8] & 31] == question.answer


def test_what_is_loaded_and_what_is_active_decide():
    outcomes = set()
    for question in drawn("saved-not-loaded"):
        old, new = (re.search(rf"{words} (PPO \d)", question.text)[1] for words in ("ran with", "set it to"))
        active = new if "and switched its supply off and on." in question.text else old
        loaded = new if "loaded the controller" in question.text else old
        right = f"it exchanges data with {active}" if active == loaded else "it refuses the configuration: Cfg_Fault"
        outcomes.add((active == new, loaded == new))
        assert question.answer == right
    assert len(outcomes) == 4
    for question in drawn("not-loaded-bytes"):
        assert question.answer == 2 * WORDS[re.search(r"works with (PPO \d)", question.text)[1]]
