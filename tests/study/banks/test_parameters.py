"""The questions on parameters, answered a second time from their text and table alone."""

import re
import struct

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 50)


def drawn(kind):
    return [draw_question("parameters", kind, seed) for seed in SEEDS]


def octets(text):
    return bytes.fromhex(next(line for line in text.splitlines() if re.fullmatch(r"([0-9A-F]{2} ?)+", line)))


def test_first_words_as_manuals_print_the_fields():
    # Task in bits 15-12, number in bits 10-0: Lenze 931M/W manual p.42.
    for question in drawn("first-word"):
        task, number = re.search(r"task is (\d).*parameter is (\d+)", question.text).groups()
        assert f"{question.answer:016b}" == f"{int(task):04b}0{int(number):011b}"
    for question in drawn("number-of"):
        word = f"{int(re.search(r'16#(....)', question.text)[1], 16):016b}"
        assert question.answer == int(word[5:], 2)


def test_values_stand_where_the_layout_has_them():
    # PWE1 high word, PWE2 low word: Toshiba manual E6581738 p.15.
    for question in drawn("value-word"):
        both = struct.pack(">i", int(re.search(r"writes (-?\d+)", question.text)[1]))
        half = both[:2] if "in PWE1" in question.text else both[2:]
        assert question.answer == int.from_bytes(half, "big")
    for question in drawn("value-of-answer"):
        assert question.answer == struct.unpack(">HBBHH", octets(question.text))[4]
    for question in drawn("response-value"):
        _, code, _, count, format, values, value = struct.unpack(">6Bh", octets(question.text))
        assert (code, count, format, values, value) == (1, 1, 3, 1, question.answer)


def test_tasks_by_their_table():
    # Lenze 931M/W manual p.43; Toshiba manual E6581738 p.15.
    by_kind = {
        ("read", False, ""): 1,
        ("read", True, ""): 6,
        ("change", False, "word of 16"): 2,
        ("change", False, "double"): 3,
        ("change", True, "word of 16"): 7,
        ("change", True, "double"): 8,
    }
    for question in drawn("which-task"):
        does = re.search(r"is to (read|change)", question.text)[1]
        width = "double" if "double" in question.text else "word of 16" if "word of 16" in question.text else ""
        assert question.answer == by_kind[does, "array" in question.text and "no array" not in question.text, width]


def test_the_answer_that_belongs_is_the_first_with_the_new_number():
    for question in drawn("which-cycle"):
        wanted = f"{int(re.search(r'answer to (.+?)[?]', question.text)[1]):03X}"
        first = next(row["cycle"] for row in question.rows if row["answer"].replace(" ", "")[1:4] == wanted)
        assert question.answer == int(first)
    for question in drawn("does-it-belong"):
        asked, answer = (bytes.fromhex(line) for line in question.text.splitlines() if re.match(r"[0-9A-F]{2} ", line))
        same = (asked[0] & 7, asked[1]) == (answer[0] & 7, answer[1])
        # 7 and 8 are refusals: Lenze 931M/W manual p.43.
        said = {1: "yes" if same else "no, it is an old", 9: "no, the drive reports"}
        said |= dict.fromkeys((7, 8), "it is a refusal")
        assert question.answer.startswith(said[answer[0] >> 4])


def test_what_power_off_leaves():
    # 971 = 1 stores what is in use at that moment: Heidenhain DPV2 manual p.57; Baumer manual p.34.
    for question in drawn("after-power-off"):
        old, first = (int(n) for n in re.search(r"at (\d+) since.*writes (\d+)", question.text).groups())
        assert question.answer == (first if "971" in question.text else old)
    for question in drawn("same-again"):
        assert question.answer.startswith(re.search(r"parameter to (\d+)", question.text)[1])


def test_counting():
    for question in drawn("first-element"):
        nth = int(re.search(r"element number (\d+)", question.text)[1])
        # From 1 in the older profile, ABB RPBA-01 manual p.103; from 0 in the newer, LS S100 manual p.26.
        assert question.answer == (nth - 1 if "acyclic" in question.text else nth)
    for question in drawn("request-length"):
        # 10 octets for one parameter are printed: 5F 01 2F 0A …, ABB FPBA-01 manual p.170.
        assert question.answer == 10 + 6 * (int(re.search(r"reads (\d+)", question.text)[1]) - 1)
    for question in drawn("how-many-cycles"):
        count, cycle, work = (int(n) for n in re.findall(r"(\d+) (?:different|ms)", question.text)[:3])
        assert question.answer == count * (1 + work / cycle)
    for question in drawn("refused"):
        assert octets(question.text)[0] >> 4 == 7


def test_both_digits_of_a_refusal_are_told():
    # 7: task cannot be executed; 8: no right to change parameters. Lenze 931M/W manual p.43.
    firsts = {re.search(r"the answer is\n(.)", question.text)[1] for question in drawn("does-it-belong")}
    assert {"7", "8"} <= firsts
    for kind in ("does-it-belong", "refused"):
        for question in drawn(kind):
            for told in (*question.steps, *(slip.sentence for slip in question.slips)):
                assert "7" not in told or "refus" not in told or "8" in told or "first digit is 7" in told, told


def test_the_slips_that_the_job_knows_best_are_there():
    kinds = ("first-word", "value-word", "value-of-answer", "which-task", "which-cycle", "same-again", "first-element",
             "after-power-off")  # fmt: skip
    told = " ".join(slip.sentence for kind in kinds for question in drawn(kind) for slip in question.slips)
    for words in ("wrong bits", "subindex, in IND", "old answer", "error 5", "words are exchanged", "first element is",
                  "never stored", "Task 0", "sign is lost"):  # fmt: skip
        assert words in told, words
