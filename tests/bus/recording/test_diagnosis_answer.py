"""The answer on a diagnosis says what the decoders say; it knows octets, telegrams, recordings and descriptions."""

import pytest

from helpers import facts
from helpers.bus.recording.diagnosis_answer import diagnosis_answer, examples
from helpers.device.description.read import read_description
from helpers.errors import OutOfRange, Unreadable

MILL, COMPACT = (
    read_description(facts.DATA / "demo" / "descriptions" / name) for name in ("Mil_FFF1.gsd", "Mil_FFF2.gsd")
)
# PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.729: an identifier block and a channel block.
BLOCKS = facts.where("published/bus_services", service="diagnosis blocks")[0]["octets"]


def test_published_blocks_are_told_octet_by_octet():
    told = dict(diagnosis_answer("08 0C 00 01 FF F1 " + BLOCKS).folded)
    lines = told["Octet by octet, blocks included"]
    assert sum(len(bytes.fromhex(row["value"])) for row in lines) == 6 + len(bytes.fromhex(BLOCKS))


def test_a_recording_with_several():
    told = examples()["a whole telegram"] + " E5 " + examples()["a whole telegram"]
    assert diagnosis_answer(told, number=2).because.startswith("From station 12. Diagnosis 2 of 2")
    assert diagnosis_answer(told, number=99) == diagnosis_answer(told, number=2)


def test_the_texts_of_the_description():
    warm, phase = examples()["drive too warm, fan worn"], examples()["phase missing, as DPV1 tells it"]
    assert "choose its description" in diagnosis_answer(warm).because
    assert "The description says: fan worn, drive too warm." in diagnosis_answer(warm, description=MILL).because
    # a block that DPV1 fills has texts of its own; its first octet is not a row of bits
    assert "The description says: phase missing." in diagnosis_answer(phase, description=MILL).because
    assert "belongs to another device" in diagnosis_answer(warm, description=COMPACT).because


def test_blocks_are_told_in_the_table():
    rows = diagnosis_answer(examples()["drive too warm, fan worn"], description=MILL).rows
    assert [row["what it means"] for row in rows] == ["fan worn, drive too warm"]
    rows = diagnosis_answer("08 0C 00 01 FF F1 " + BLOCKS).rows
    assert any("identifier 0 (place 1)" in row["what it means"] for row in rows)
    assert not any("blocks" in row["look at first"] for row in rows)


def test_what_is_no_diagnosis():
    with pytest.raises(Unreadable):
        diagnosis_answer(" ")
    with pytest.raises(OutOfRange, match="allowed is 3 to 244"):
        diagnosis_answer("02 05")
    assert "these octets" in diagnosis_answer("00 00 00 00 00 00").rows[0]["look at first"]
