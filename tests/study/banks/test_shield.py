"""The questions on shield, earth and separation, answered a second time from their text and table alone."""

import math
import re

import pytest

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 200)


def drawn(kind):
    return [draw_question("shield", kind, seed) for seed in SEEDS]


def numbers(text):
    return [float(n) for n in re.findall(r"\d+(?:\.\d+)?", text)]


def test_one_duct_holds_signals_only():
    # M. Felser, PROFIBUS Manual, distances: signals below 25 V, supplies below 60 V DC; telephone is in the class
    # of high voltage or high frequency.
    seen = set()
    for question in drawn("same-duct"):
        for row, bit in zip(question.rows, question.answer, strict=True):
            said = row["carries"]
            volts = float(re.search(r"(\d+) V", said)[1]) if " V" in said else 0.0
            low = volts < (60 if said.endswith("DC") else 25)
            assert bit == ("1" if low and "telephone" not in said and "motor" not in said else "0"), said
            seen.add(said.partition(",")[0])
    assert seen >= {"telephone", "a second bus cable", "motor cable of a drive", "supply of sensors"}


def test_the_verdict_follows_from_the_table():
    seen = set()
    for question in drawn("distance"):
        asked = [(float(row["least distance"].split()[0]), row["asked by"]) for row in question.rows]
        found = float(re.search(r"([\d.]+) m apart", question.text)[1])
        # Advice of common practice makes a distance cautious, never illegal; what two documents agree on is forbidden.
        firm = {
            who.split()[0]: distance for distance, who in asked if not who.endswith(("common practice", "(memory)"))
        }
        if found >= max(distance for distance, who in asked if not who.endswith("(memory)")):
            right = "in order"
        else:
            below_all = found < min(distance for distance, who in asked if not who.endswith("common practice"))
            right = "not allowed" if below_all and len(firm) > 1 else "outside cautious practice"
        assert question.answer == right
        seen.add(right)
    assert len(seen) == 3


def test_the_coupled_voltage_grows_with_the_length():
    for question in drawn("coupling-scaled"):
        length, distance, table_m = numbers(question.text)[:3]
        volts = next(
            numbers(r["voltage in the loop"])[0] for r in question.rows if numbers(r["distance"])[0] == distance
        )
        assert question.answer == pytest.approx(volts * length / table_m, rel=5e-3)


def test_the_shield_alone_is_in_series_with_the_earth():
    for question in drawn("shield-alone"):
        volts, source, length, per_metre = numbers(question.text)[:4]
        assert question.answer == pytest.approx(volts / (source + length * per_metre))


def test_the_current_divides_as_the_conductances():
    for question in drawn("shield-share"):
        total, length, area, per_metre = numbers(question.text)[:4]
        shield, bond = 1 / (length * per_metre), area / (length / 58)  # copper 1/58 Ω·mm²/m: IEC 60028, from memory
        assert question.answer == pytest.approx(total * shield / (shield + bond), rel=2e-3)


def test_a_conductor_has_two_contacts():
    for question in drawn("bond-contacts"):
        area, length, contact = numbers(question.text)[:3]
        assert question.answer == pytest.approx(1000 * length / 58 / area + 2 * contact, rel=2e-3)


def test_the_inductance_of_the_earth_wire():
    for question in drawn("wire-at-frequency"):
        length_cm, micro = numbers(question.text)[:2]
        mega = numbers(question.text)[-1]
        assert question.answer == pytest.approx(2 * math.pi * mega * micro)
        # The usual rule of thumb, 1 µH a metre; short thin wires have a little more. Common practice, no source.
        assert 0.7 < micro / (length_cm / 100) < 1.4


def test_the_rise_time_of_a_scope():
    # 0.35 / bandwidth, as every handbook of oscilloscopes prints it.
    for question in drawn("scope-rise"):
        assert question.answer == pytest.approx(350 / numbers(question.text)[0], rel=2e-3)
        assert numbers(question.text)[1] > question.answer  # no screen shows an edge faster than its scope


def test_every_measure_is_asked_for_with_its_own_noise():
    answers = {question.answer for question in drawn("measure")}
    assert len(answers) == 12
    for question in drawn("measure"):
        assert len(question.slips) in (2, 3)


def test_the_shield_is_earthed_at_both_ends_everywhere():
    # M. Felser, PROFIBUS Manual, M12 plug; ABB AC 800M PROFIBUS manual p.97.
    for question in drawn("shield-ends"):
        assert question.answer.startswith("at both ends, over a large area")
        assert "bonding conductor beside" in question.answer
        assert any("qualified" in text or "not dangerous" in text for text in (question.text, *question.steps))
