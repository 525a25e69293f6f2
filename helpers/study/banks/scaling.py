"""Questions on setpoints and scaling. Each slip is calculated by making the mistake on purpose.

The machines are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

import math

from helpers.drive.machines import fan, frequency, machine, machines, travel
from helpers.drive.scaling import (
    HIGHEST,
    PROFILE,
    THOUSANDS,
    form,
    kept_digits,
    lost_digit,
    scale,
    signed,
    swapped,
    understood,
    unscale,
    unsigned,
)
from helpers.drive.words import spelled
from helpers.study.forms import Choice, Hexadecimal, Number
from helpers.study.question import Draw, Kind, Question, Slip

_N2 = f"N2, where {PROFILE} counts (16#4000) are 100 %"


def _word_of(counts: float) -> int:
    """The word of a count that a mistake has led to, as far as 16 bits hold it."""
    return unsigned(round(max(-HIGHEST - 1, min(HIGHEST, counts))))


def percent_to_word(draw: Draw) -> Question:
    """The word for a setpoint in %."""
    percent = draw.whole(12, 180) * draw.pick((1, 1, -1))
    share, right = percent / 100, scale(percent)
    return Question(
        f"A drive takes its setpoint in {_N2}. The program wants {percent} %.\n"
        "Which word does it send, rounded to the nearest count? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        right.word,
        steps=(f"Take {percent} % of {PROFILE} counts.", *(f"{step}." for step in right.steps[1:])),
        slips=(
            Slip(_word_of(share * HIGHEST), f"That takes {spelled(HIGHEST)} for 100 %. In N2 it is nearly 200 %."),
            Slip(_word_of(share * THOUSANDS), f"That is for a device scaled ±{THOUSANDS}. N2 has {PROFILE} at 100 %."),
            Slip(_word_of(-right.counts), "The sign is wrong: the motor would turn the other way."),
            Slip(swapped(right.word), "High and low byte are exchanged."),
            Slip(_word_of(float(percent)), "That writes the percentage itself into the word."),
        ),
    )


def word_to_percent(draw: Draw) -> Question:
    """What an actual value in N2 means in %."""
    counts = draw.whole(600, 20_000) * draw.pick((1, -1))
    word = unsigned(counts)
    return Question(
        f"A drive sends its actual speed in {_N2}. The controller shows {spelled(word)}.\nWhich speed is that in %?",
        Number("%", absolute=0.1),
        unscale(word).percent,
        steps=(
            "First ask whether the number is negative: the first digit is 8 or more.",
            *(f"{step}." for step in unscale(word).steps[:2]),
        ),
        slips=(
            Slip(round(word / PROFILE * 100, 2), "The sign is lost: a word from 16#8000 on is negative."),
            Slip(round(counts / HIGHEST * 100, 2), f"100 % is 16#4000, not {spelled(HIGHEST)}."),
            Slip(round(counts / THOUSANDS * 100, 2), f"{PROFILE} counts are 100 % here, not {THOUSANDS}."),
            Slip(unscale(swapped(word)).percent, "High and low byte are exchanged."),
            Slip(-unscale(word).percent, "The sign is the wrong way round."),
        ),
    )


def negative(draw: Draw) -> Question:
    """The word for a speed backwards."""
    full = draw.pick((1000, 1500, 3000))
    rpm = draw.whole(full // 20, full, 5)
    right = scale(-rpm, reference=full, unit="rpm")
    forward = -right.counts
    return Question(
        f"A drive calls {full} rpm 100 % and takes {_N2}. The motor is to turn at {rpm} rpm backwards.\n"
        "Which word does the program send, rounded to the nearest count? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        right.word,
        steps=("First the counts for forwards, then two's complement.", *(f"{step}." for step in right.steps)),
        slips=(
            Slip(forward, "That is forwards: the sign is lost."),
            Slip(0x8000 | forward, "Setting bit 15 alone is not enough: numbers are in two's complement."),
            Slip(unsigned(-forward - 1), "All bits turned over is not yet two's complement: add 1."),
            Slip(swapped(right.word), "High and low byte are exchanged."),
            Slip(_word_of(-rpm), "That writes the rpm themselves into the word."),
        ),
    )


def reference_frequency(draw: Draw) -> Question:
    """A speed in rpm for a drive whose reference is a frequency."""
    full_hz, poles = draw.pick((50, 60, 87)), draw.pick((2, 4, 6))
    most = 120 * full_hz // poles
    rpm = draw.whole(most // 10 // 10 * 10, most, 10)
    hz = frequency(rpm, poles=poles)
    return Question(
        f"A drive calls {full_hz} Hz 100 %. Its motor has {poles} poles; leave slip aside. Wanted are {rpm} rpm.\n"
        "Which setpoint is that in %?",
        Number("%", relative=0.002),
        round(hz / full_hz * 100, 3),
        steps=(
            "Bring both into one unit: f = n × poles / 120.",
            f"{rpm} rpm × {poles} / 120 = {hz:.4g} Hz.",
            f"{hz:.4g} Hz / {full_hz} Hz = {hz / full_hz * 100:.4g} %.",
        ),
        slips=(
            Slip(round(rpm / full_hz, 3), "rpm were divided by Hz. Bring both into one unit first."),
            Slip(round(hz / full_hz * 200, 3), f"{poles} poles are {poles // 2} pairs: n × poles / 120."),
            Slip(round(rpm / 1500 * 100, 3), "1500 rpm is the speed of four poles at 50 Hz, not this drive's 100 %."),
            Slip(round(hz / 50 * 100, 3), f"The drive calls {full_hz} Hz 100 %, whatever the mains have."),
        ),
    )


def belt_to_counts(draw: Draw) -> Question:
    """Counts for a belt speed through gearbox and drum."""
    at = draw.pick([m for m in machines() if m.kind == "drum"])
    full, speed = draw.pick((1400, 1450, 1500, 1750)), draw.whole(30, 115) / 100
    moved = travel("drum", size_m=at.size_m, gear_ratio=at.gear_ratio)
    drum_rpm = speed * 60 / moved.per_turn_m
    motor = drum_rpm * at.gear_ratio
    right = motor / full * PROFILE
    return Question(
        f"{at.name}: a drum of {at.size_m:g} m diameter behind a gearbox {at.gear_ratio:g} : 1. The drive calls {full} "
        f"rpm of the motor 100 % and takes {_N2}.\nHow many counts make the belt run at {speed:g} m/s? "
        "Answer in counts, decimal.",
        Number("counts", relative=0.003),
        round(right, 1),
        steps=(
            "Go from the belt to the motor: belt, drum, gearbox, motor.",
            f"The drum moves π × {at.size_m:g} m = {moved.per_turn_m:.4g} m per turn.",
            f"{speed:g} m/s × 60 s / {moved.per_turn_m:.4g} m = {drum_rpm:.4g} turns of the drum in a minute.",
            f"× {at.gear_ratio:g} = {motor:.5g} rpm at the motor.",
            f"{motor:.5g} rpm / {full} rpm × {PROFILE} = {right:.5g} counts.",
        ),
        slips=(
            Slip(round(right * math.pi, 1), "π is forgotten: a drum moves π times its diameter per turn."),
            Slip(round(right * 2, 1), "That takes π × radius. A turn of the drum is π × diameter."),
            Slip(round(right / 2, 1), "That takes the diameter for the radius: 2 × π belongs to the radius."),
            Slip(
                round(right / at.gear_ratio**2, 4),
                "The gear ratio is turned over: the motor turns faster than the drum.",
            ),
            Slip(round(right / 60, 3), "Metres per second and turns per minute: 60 is forgotten."),
            Slip(round(right / PROFILE * HIGHEST, 1), f"100 % is {PROFILE} counts, not {HIGHEST}."),
            Slip(round(right / PROFILE * THOUSANDS, 1), f"100 % is {PROFILE} counts in N2, not {THOUSANDS}."),
        ),
    )


def word_to_screw(draw: Draw) -> Question:
    """What an actual value means at the screw."""
    at, full = machine("Discharge screw"), draw.pick((1000, 1450, 1500))
    counts = draw.whole(2_000, 16_000)
    motor = counts / PROFILE * full
    right = motor / at.gear_ratio * at.size_m / 60
    return Question(
        f"{at.name}: pitch {at.size_m:g} m, gearbox {at.gear_ratio:g} : 1. The drive calls {full} rpm of the motor "
        f"100 % and sends {_N2}. The controller shows the actual value {spelled(counts)}.\n"
        "How fast does the grain move, in m/s?",
        Number("m/s", relative=0.004),
        round(right, 6),
        steps=(
            "Go from the word to the grain: counts, %, motor, gearbox, screw.",
            f"{spelled(counts)} = {counts} counts; {counts} / {PROFILE} × {full} rpm = {motor:.5g} rpm.",
            f"/ {at.gear_ratio:g} = {motor / at.gear_ratio:.4g} rpm at the screw.",
            f"× {at.size_m:g} m / 60 s = {right:.4g} m/s.",
        ),
        slips=(
            Slip(round(right * math.pi, 6), "π belongs to a drum. A screw moves its pitch per turn."),
            Slip(round(right * at.gear_ratio**2, 3), "The gear ratio is turned over: the screw is the slower one."),
            Slip(round(right * 60, 4), "That is metres per minute."),
            Slip(round(right * PROFILE / HIGHEST, 6), f"100 % is 16#4000, not {spelled(HIGHEST)}."),
            Slip(round(right * PROFILE / THOUSANDS, 6), f"100 % is {PROFILE} counts, not {THOUSANDS}."),
        ),
    )


def fan_power(draw: Draw) -> Question:
    """The power of a fan at a part of its flow."""
    at, percent = draw.pick([m for m in machines() if m.kind == "fan"]), draw.whole(35, 90)
    point = fan(percent / 100)
    return Question(
        f"{at.name}: {at.full_flow_m3_h:g} m³/h at full speed. The setpoint goes down to {percent} % of full speed; "
        "the duct stays as it is.\nWhich power does the fan take then, in % of its full power?",
        Number("%", absolute=0.6),
        round(point.power * 100, 2),
        steps=(
            "For a fan in one unchanged duct: flow ~ speed, pressure ~ speed², power ~ speed³.",
            f"{percent / 100:g} × {percent / 100:g} × {percent / 100:g} = {point.power:.4f}.",
            f"That is {point.power * 100:.3g} %.",
        ),
        slips=(
            Slip(float(percent), "That is the flow. Power falls with the third power of the speed."),
            Slip(round(point.pressure * 100, 2), "That is the pressure, speed². Power goes with speed³."),
            Slip(round(100 - point.power * 100, 2), "That is what is saved. The power taken is asked."),
        ),
    )


def one_count(draw: Draw) -> Question:
    """What one count is worth."""
    full, unit = draw.pick(
        [(n, "rpm") for n in (750, 900, 1000, 1200, 1450, 1500, 1750, 1800, 3000, 3600)]
        + [(n, "Hz") for n in (40, 50, 60, 70, 80, 87, 100, 120)]
        + [(n, "m³/h") for n in (4000, 6000, 9000, 12000, 24000)]
    )
    return Question(
        f"A drive calls {full} {unit} 100 % and takes {_N2}.\nHow much is one count, in {unit}?",
        Number(unit, relative=0.01, also=("m3/h",)),
        float(f"{full / PROFILE:.6g}"),
        steps=(
            "Divide what is 100 % by the counts for 100 %.",
            f"{full} {unit} / {PROFILE} = {full / PROFILE:.3g} {unit}.",
        ),
        slips=(
            Slip(float(f"{full / HIGHEST:.6g}"), f"The counts go to {HIGHEST}, but 100 % is at {PROFILE}."),
            Slip(float(f"{full / 65536:.6g}"), "16 bits have 65536 words, but 100 % is at 16384 of them."),
            Slip(float(f"{full / THOUSANDS:.6g}"), f"That is for a device scaled ±{THOUSANDS}."),
            Slip(float(f"{full / 100:.6g}"), "That is one per cent, not one count."),
        ),
    )


def lost(draw: Draw) -> Question:
    """Which digit of a speed gets lost."""
    places = ("steps of 10 {u}", "steps of 1 {u}", "steps of 0.1 {u}", "steps of 0.01 {u}", "steps of 0.001 {u}")
    unit, name = draw.pick((("rpm", "N2"), ("rpm", "10000"), ("Hz", "N2"), ("Hz", "10000")))
    full = draw.whole(1000, 6000, 50) if unit == "rpm" else draw.whole(40, 120)
    word_form = form(name)
    step, kept = full / word_form.full, kept_digits(full / word_form.full)
    options = tuple(place.format(u=unit) for place in places)
    right = options[kept + 1]
    described = f"{name}, {word_form.full} counts at 100 %" if name == "N2" else f"±{word_form.full} for ±100 %"
    return Question(
        f"A drive calls {full} {unit} 100 % and takes its setpoint in 16 bits ({described}).\n"
        "Which are the finest steps that all come through, so that two neighbours never share one word?",
        Choice(options),
        right,
        steps=(
            f"Work out what one count is: {full} {unit} / {word_form.full}.",
            f"{lost_digit(step, unit)}",
        ),
        slips=tuple(
            Slip(
                option,
                f"One count is {step:.3g} {unit}: finer steps still come through."
                if n < kept + 1
                else f"One count is {step:.3g} {unit}: two setpoints so close can share one word.",
            )
            for n, option in enumerate(options)
            if option != right
        ),
    )


def read_by_another(draw: Draw) -> Question:
    """What a drive makes of a setpoint scaled for another device."""
    percent = draw.whole(20, 60)
    sent_for, read_as = draw.pick(((PROFILE, "10000"), (THOUSANDS, "N2")))
    full = form(read_as).full
    got = understood(percent, program_rpm=100, program_full=sent_for, drive_rpm=100, drive_format=read_as)
    scalings = {PROFILE: f"in N2 ({PROFILE} is 100 %)", THOUSANDS: f"with ±{THOUSANDS} for ±100 %"}
    return Question(
        f"A program scales its setpoint {scalings[sent_for]}. The drive takes it {scalings[full]}. The program sends "
        f"{percent} %.\nWhich setpoint does the drive understand, in %?",
        Number("%", absolute=0.15),
        round(got.percent, 2),
        steps=(
            "Work out the counts as the program does, then read them as the drive does.",
            f"{percent} % × {sent_for} = {signed(got.sent)} counts.",
            f"{signed(got.sent)} / {full} = {got.percent:.4g} %.",
        ),
        slips=(
            Slip(float(percent), "The counts arrive unchanged, but the drive divides by another number."),
            Slip(round(percent * full / sent_for, 2), "That is the wrong way round: multiply as the program, divide as "
                 "the drive."),
            Slip(round(percent * sent_for / HIGHEST, 2), f"Neither side has 100 % at {HIGHEST}."),
        ),
    )  # fmt: skip


def bytes_exchanged(draw: Draw) -> Question:
    """What the drive reads when the bytes of a setpoint change places."""
    counts = draw.whole(1_000, 16_384)
    word, read = counts, swapped(counts)
    right = unscale(read).percent
    return Question(
        f"The program writes the setpoint {spelled(word)}. Controller and drive differ in the order of the bytes, so "
        f"the drive gets them exchanged. It takes {_N2}.\nWhich setpoint does the drive understand, in %?",
        Number("%", absolute=0.1),
        round(right, 2),
        steps=(
            "Write the word with its two bytes exchanged, then read it.",
            f"{spelled(word)} becomes {spelled(read)}.",
            *(f"{step}." for step in unscale(read).steps[:2]),
        ),
        slips=(
            Slip(round(unscale(word).percent, 2), "That is what was meant. The bytes arrive exchanged."),
            Slip(round(read / PROFILE * 100, 2), "The sign is lost: a word from 16#8000 on is negative."),
            Slip(
                round(unscale(_nibbles_turned(word)).percent, 2),
                "The bytes change places, not the four digits: each byte stays as it is.",
            ),
            Slip(round(-right, 2), "The sign is the wrong way round."),
        ),
    )


def _nibbles_turned(word: int) -> int:
    return int(f"{word:04X}"[::-1], 16)


def saturated(draw: Draw) -> Question:
    """What a program must send when more is asked than the word carries."""
    percent = draw.whole(205, 390) * draw.pick((1, -1))
    right = scale(percent)
    exact = round(percent / 100 * PROFILE)
    return Question(
        f"By a slip in a recipe the program is asked for {percent} %. It scales in {_N2}, and it holds what does not "
        "fit at the limit of the word.\nWhich word does it send? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        right.word,
        steps=(
            "Work out the counts, and compare them with what 16 bits with a sign carry: −32768 to 32767.",
            f"{percent} % × {PROFILE} = {exact} counts: beyond.",
            f"Held at {right.counts}: {spelled(right.word)}. It is still a setpoint of nearly ±200 %: limit it to "
            "what the machine may do.",
        ),
        slips=(
            Slip(
                exact & 0xFFFF,
                "The number has run over: the word now means quite another speed.",
            ),
            Slip(unsigned(PROFILE if percent > 0 else -PROFILE), "That is 100 %. The word carries nearly 200 %."),
            Slip(0xFFFF, "16#FFFF is −1 count in two's complement: as good as standstill."),
            Slip(
                0x8000 if percent > 0 else 0x7FFF,
                "That is the limit on the other side: the wrong direction.",
            ),
        ),
    )


KINDS: dict[str, Kind] = {
    "percent-to-word": percent_to_word,
    "word-to-percent": word_to_percent,
    "negative": negative,
    "reference-frequency": reference_frequency,
    "belt-to-counts": belt_to_counts,
    "word-to-screw": word_to_screw,
    "fan-power": fan_power,
    "one-count": one_count,
    "lost-digit": lost,
    "read-by-another": read_by_another,
    "bytes-exchanged": bytes_exchanged,
    "saturated": saturated,
}
