"""Answers on setpoints: from a speed to the word and back, and what comes of two sides that are not set alike."""

from __future__ import annotations

from dataclasses import dataclass

from helpers.answer import Answer, Row
from helpers.drive import machines, scaling
from helpers.drive.machines import Machine, fan
from helpers.drive.scaling import READ_AS, NumberFormat, Scaled, form, lost_digit, understood
from helpers.safe_work import cautions
from helpers.wording import capital_first

_BEYOND = "More than 100 % is possible on the bus; whether motor, gearbox and machine bear it, only their data tell."


@dataclass(frozen=True)
class ScalePicture:
    """What a format carries, on a scale in %: words, values in `unit` (`reference` is 100 %), and marks with texts."""

    format: NumberFormat
    marks: tuple[tuple[float, str], ...]
    reference: float
    unit: str

    @property
    def says(self) -> str:
        """The marks, each with its place."""
        marks = "; ".join(f"{text} at {percent:.4g} %" for percent, text in self.marks)
        return f"Scale from −200 % to +200 %, format {self.format.name}: {marks}"


def setpoint_answer(
    at: Machine,
    entered: tuple[float, str] | int,
    full: str,
    *,
    poles: int = 4,
    format: str = "N2",
    rounding: str = "nearest",
) -> Answer:
    """A value and its word, or a word and its value; in all units of the machine, with the calculation."""
    known = form(format)
    rpm = machines.reference_speed(full, poles=poles)
    point = machines.setpoint(entered, at, full_rpm=rpm, poles=poles, format=format, rounding=rounding)
    result, unit, share = point.scaled, point.unit, point.scaled.counts / known.full
    word, all_units = _word(result, known), _in_all_units(point.values, known)
    if isinstance(entered, int):
        sentence = f"{word} = {result.counts} counts = {all_units}."
    else:
        counts = "" if unit == "counts" else f" {result.counts} counts:"
        sentence = f"{result.asked:g} {unit} is{counts} the word {word} ({all_units})."
    references = " = ".join(f"{reference:.5g} {u}" for u, reference in point.references.items() if u != "%")
    because = [
        f"{capital_first(at.name)}: 100 % is {references}.",
        lost_digit(*((result.step, unit) if unit != "counts" else (rpm / known.full, "rpm"))),
    ]
    if result.saturated:
        because.insert(0, _beyond(known, typed_a_word=isinstance(entered, int)))
    if abs(share) > 1:
        because.append(_BEYOND)
    if at.kind == "fan":
        because.append(_fan_words(at, share * rpm))
    first = _way_to_reference(at, rpm, poles, unit, result.step * known.full)
    shown_in = at.own_unit if at.own_unit in point.references else "rpm"
    return Answer(
        sentence,
        because=" ".join(because),
        caution=cautions("word moves") if result.counts else (),
        pictures=[
            ScalePicture(
                known,
                ((share * 100, f"{word} = {share * 100:.6g} %"),),
                reference=point.references[shown_in],
                unit=shown_in,
            )
        ],
        rows=[{"step": str(n), "calculation": step} for n, step in enumerate([*first, *result.steps], 1)],
        folded=[("The words beside it: what one count does", _neighbours(result, known, point.references))],
        sources=[f"{known.name}: {known.source} ({known.standing})", f"{at.name}: {at.meaning}"],
    )


def _beyond(known: NumberFormat, *, typed_a_word: bool) -> str:
    if typed_a_word:
        return f"{known.name} goes from {known.low} to {known.high} only. What a drive makes of this, its manual tells."
    return f"Beyond what {known.name} carries ({known.low} to {known.high}): held at its limit."


def _word(result: Scaled, known: NumberFormat) -> str:
    text = f"16#{result.word:0{known.bits // 4}X}"
    return f"{text[:7]}_{text[7:]}" if known.bits == 32 else text


def _figures(known: NumberFormat) -> int:
    """How many figures of a value are worth showing."""
    return 9 if known.bits == 32 else 5


def _in_all_units(values: dict[str, float], known: NumberFormat) -> str:
    figures = _figures(known)
    return " = ".join(f"{value:.{figures}g} {unit}" for unit, value in values.items())


def _way_to_reference(at: Machine, rpm: float, poles: int, unit: str, reference: float) -> list[str]:
    """How the reference in a unit comes from the motor's speed; empty where nothing is to be calculated."""
    ways = {
        "drum": f"π × {at.size_m:g} m × {rpm:g} rpm / ({at.gear_ratio:g} × 60 s/min)",
        "screw": f"{at.size_m:g} m × {rpm:g} rpm / ({at.gear_ratio:g} × 60 s/min)",
        "fan": f"{at.full_flow_m3_h:g} m³/h × {rpm:g} rpm / {at.full_rpm:g} rpm",
    }
    way = {"Hz": f"{rpm:g} rpm × {poles} poles / 120", at.own_unit: ways.get(at.kind, "")}.get(unit, "")
    return [f"100 % is {way} = {reference:.6g} {unit}"] if way else []


def _fan_words(at: Machine, rpm: float) -> str:
    part = rpm / at.full_rpm
    if not 0 <= part <= 2:
        return "The laws of a fan hold while it turns forwards, to about its full speed."
    point = fan(part)
    return (
        f"The fan: {point.flow * 100:.3g} % of its full flow, {point.pressure * 100:.3g} % of the pressure, "
        f"{point.power * 100:.3g} % of the power (flow ~ n, pressure ~ n², power ~ n³, in one unchanged duct)."
    )


def _neighbours(result: Scaled, known: NumberFormat, references: dict[str, float]) -> list[Row]:
    rows: list[Row] = []
    for step in (-1, 0, 1):
        counts = result.counts + step
        if known.low <= counts <= known.high:
            number = scaling.unsigned(counts, bits=known.bits)
            row: dict[str, object] = {"word": f"16#{number:0{known.bits // 4}X}", "counts": f"{counts}"}
            row |= {u: f"{counts / known.full * ref:.{_figures(known) + 1}g}" for u, ref in references.items()}
            rows.append(row)
    return rows


def own_machine_answer(kind: str, gear: float, size: float, full_rpm: float, flow: float, **rest: object) -> Answer:
    """`setpoint_answer` for a machine put together from its kind and sizes."""
    at = Machine(f"your {kind}", kind, gear, size, full_rpm, flow, "as you entered it")
    return setpoint_answer(at, **rest)  # type: ignore[arg-type]


def two_sides_answer(
    *, wanted: int, program: str, program_full: int, drive: str, drive_format: str, exchanged: bool, poles: int
) -> Answer:
    """What the drive makes of a setpoint that the program scaled in its own way."""
    program_rpm, drive_rpm = (machines.reference_speed(text, poles=poles) for text in (program, drive))
    got = understood(
        wanted * program_rpm / 100,
        program_rpm=program_rpm,
        program_full=program_full,
        drive_rpm=drive_rpm,
        drive_format=drive_format,
        bytes_exchanged=exchanged,
    )
    sentence = f"Wanted {got.wanted_rpm:.5g} rpm; the drive runs {got.rpm:.5g} rpm."
    if got.alike:
        sentence += " Both sides agree at this setpoint."
    elif got.wanted_rpm and got.rpm * got.wanted_rpm < 0:
        sentence += " The motor turns the other way."
    elif got.wanted_rpm:
        sentence += f" That is {got.rpm / got.wanted_rpm:.3g} times as fast."
    because = []
    if got.alike and not wanted:
        because.append("At 0 every scaling agrees: test with a value that is not 0.")
    if got.held:
        because.append("The number is beyond what one side carries and was held at its limit.")
    if not got.alike:
        because.append("The bus reports nothing: every word is a valid one. Only a look at the speed shows it.")
    known = form(drive_format)
    marks = ((wanted * program_rpm / drive_rpm, "wanted"), (got.percent, "what runs"))
    return Answer(
        sentence,
        because=" ".join(because),
        caution=() if got.alike else cautions("wrong scaling"),
        pictures=[ScalePicture(known, marks, reference=drive_rpm, unit="rpm")],
        rows=[
            {
                "side": "program",
                "100 % is": f"{program_rpm:g} rpm",
                "counts at 100 %": program_full,
                "word": f"16#{got.sent:04X}",
                "means there": f"{wanted} % = {got.wanted_rpm:.5g} rpm",
            },
            {
                "side": "drive",
                "100 % is": f"{drive_rpm:g} rpm",
                "counts at 100 %": known.full,
                "word": f"16#{got.read:04X}",
                "means there": f"{got.percent:.5g} % = {got.rpm:.5g} rpm",
            },
        ],
        sources=[f"{name}: {form(name).source} ({form(name).standing})" for name in READ_AS],
    )
