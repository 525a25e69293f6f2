"""The questions on device descriptions, answered a second time from their text alone."""

import re

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 60)


def drawn(kind):
    return [draw_question("description", kind, seed) for seed in SEEDS]


def numbers(text):
    return [int(n) for n in re.findall(r"\d+", text)]


def area_bytes(octet):
    """Bytes out and in of a compact identifier: M. Felser, PROFIBUS Manual, compact format."""
    length = ((octet & 15) + 1) * (2 if octet & 64 else 1)
    return (length if octet & 32 else 0), (length if octet & 16 else 0)


def special_bytes(octets):
    """Bytes out and in of the special form: WAGO 750-833 manual p.79; the length octet is from memory."""
    sizes = [((octet & 63) + 1) * (2 if octet & 64 else 1) for octet in octets[1:3]]
    return (sizes[0] if octets[0] & 128 else 0), (sizes[1] if octets[0] & 128 else sizes[0])


def test_the_ident_number_is_in_octets_5_and_6():
    # Thermo Micro-Tech 9101 manual p.C-75; Norgren FD67 manual p.46
    for question in drawn("ident-number"):
        octets = re.search(r"(?:[0-9A-F]{2} ){5}[0-9A-F]{2}", question.text)[0].split()
        assert question.written.removeprefix("16#") == octets[4] + octets[5]


def test_the_file_that_fits_has_the_ident_number_and_the_issue():
    for question in drawn("right-file"):
        issue, ident = re.search(r"issue (\d\.0), .* 16#([0-9A-F]{4})\.", question.text).groups()
        fitting = [row["file"] for row in question.rows
                   if (row["Ident_Number"], row["for devices of issue"]) == (f"16#{ident}", issue)]  # fmt: skip
        assert fitting == [question.answer]


def test_the_line_goes_as_fast_as_its_slowest_station():
    for question in drawn("highest-bit-rate"):
        rates = {text: float(text.split()[0]) * (1000 if "Mbit" in text else 1) for text in question.form.options}
        assert question.answer == min((row["up to"] for row in question.rows), key=rates.__getitem__)


def test_an_interval_counts_steps_of_100_us():
    # Horner PBS600 manual p.36; esd manuals, commented listing: 20 is 2 ms
    for question in drawn("shortest-interval"):
        assert round(question.answer * 10, 6) == numbers(question.text.split("Intervall")[1])[0]


def test_bytes_of_one_direction_are_those_of_the_identifiers():
    ways = set()
    for question in drawn("input-bytes"):
        out = into = 0
        for row in question.rows:
            octets = list(bytes.fromhex(row["identifiers"]))
            sizes = [area_bytes(octet) for octet in octets] if octets[0] & 48 else [special_bytes(octets)]
            out, into = out + sum(a for a, _ in sizes), into + sum(b for _, b in sizes)
        to_drive = "go from the controller to the drive" in question.text
        ways.add(to_drive)
        assert question.answer == (out if to_drive else into)
    assert ways == {True, False}


def test_parameters_stand_behind_seven_octets():
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734: seven standard octets
    for question in drawn("parameter-octets"):
        device = numbers(re.search(r"gives (\d+) octets", question.text)[1])[0]
        modules = numbers(re.search(r"chosen, ([\d, ]+) more", question.text)[1])
        assert question.answer == 7 + device + sum(modules)


def test_only_the_bits_of_the_parameter_change():
    for question in drawn("bits-of-an-octet"):
        octet, first, last, value = re.search(
            r"16#(..) before .* Bits (\d) to (\d) of .* value (\d)", question.text
        ).groups()
        bits = list(f"{int(octet, 16):08b}")
        bits[7 - int(last) : 8 - int(first)] = f"{int(value):0{int(last) - int(first) + 1}b}"
        assert question.answer == int("".join(bits), 2)


def test_two_octets_hold_hundredths_of_a_second():
    for question in drawn("two-octets"):
        assert question.answer == round(float(re.search(r"wait ([\d.]+) s", question.text)[1]) * 100)


def test_what_breaks_touches_what_is_sent_to_the_station():
    for question in drawn("what-breaks"):
        used = re.search(r"with the module “(.+?)”", question.text)[1]
        touched = re.compile(rf"odule “{re.escape(used)}”|^Ident_Number|^12M_supp")
        assert [option for option in question.form.options if touched.search(option)] == [question.answer]


def test_nothing_that_is_told_only_in_part_is_asked():
    # A name can be asked for by the ident service of the bus (M. Felser, PROFIBUS Manual, function code: 14).
    shown = {option for question in drawn("said-on-the-bus") for option in question.form.options}
    assert {"ident number", "texts of parameters", "bit rates"} <= shown
    assert not shown & {"names of maker and device", "sync and freeze", "longest answer time"}
