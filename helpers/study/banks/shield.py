"""Questions on shield, earth and separation. Each slip is calculated by making the mistake on purpose.

The stations are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from math import ceil, isfinite, pi

from helpers import facts
from helpers.bus.cable.bonding import bond_ohm, conductor_areas
from helpers.bus.cable.coupling import compensating_current, shield_ohm
from helpers.bus.cable.earth_wire import Round
from helpers.bus.cable.interference import coupled, disturbers
from helpers.bus.cable.rise_time import own_rise_s
from helpers.bus.cable.separation import Run, cable_class, check_run, separation_limit
from helpers.quantity import quantity
from helpers.study.forms import Bits, Choice, Number
from helpers.study.mill import STATIONS
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.verdict import VERDICTS

_SHIELD = facts.one("line_electrical", cable="A", quantity="shield_ohm_per_m")
_COPPER = facts.one("conductors", quantity="copper resistivity")
_COPPER_MM2 = round(_COPPER.number("value") * 1e6, 4)  # Ω·mm²/m
_SHIELD_IN_WORDS = f"The shield has {quantity(_SHIELD.number('value'), 'Ω')} per metre ({_SHIELD.cited})"


def _three_digits(value: float, unit: str) -> str:
    """Three digits: enough to follow the steps."""
    return f"{float(f'{value:.3g}'):.12g} {unit}"


def same_duct(draw: Draw) -> Question:
    """Which cables may lie in one duct with the bus cable, without a divider."""
    low = draw.whole(26, 58, 2)
    cables: list[tuple[str, str, float, str]] = [
        (f"supply of relays, {low} V AC", "power", low, "AC"),
        (f"supply of sensors, {low} V DC", "power", low, "DC"),
        draw.pick((("a second bus cable", "data", 0.0, "DC"), ("supply of valves, 24 V DC", "power", 24.0, "DC"))),
        draw.pick((("telephone", "telephone", 0.0, "DC"), ("lamps, 230 V AC", "power", 230.0, "AC"))),
        draw.pick((("motor cable of a drive", "motor", 400.0, "AC"), ("heater, 400 V AC", "power", 400.0, "AC"))),
    ]
    shuffled = draw.shuffled(cables)

    def pattern(allowed: list[str]) -> str:
        return "".join("1" if name in allowed else "0" for name, *_ in shuffled)

    classes = {name: cable_class(use, volts, supply) for name, use, volts, supply in shuffled}
    right = [name for name, cable_kind in classes.items() if cable_kind == "signal"]
    (relays, *_), (sensors, *_) = cables[0], cables[1]
    data = [name for name in classes if name in ("telephone", "a second bus cable")]
    source = facts.rows("cable_classes")[0].source
    ac, dc = (facts.one("cable_classes", against="signal", supply=kind)["below_v"] for kind in ("AC", "DC"))
    return Question(
        "Which of these cables may lie in one duct with the bus cable, without a divider?\n"
        "Write 1 for yes and 0 for no, cable 1 first.",
        Bits(tuple(f"cable {n}" for n in range(1, len(shuffled) + 1))),
        pattern(right),
        rows=[{"cable": f"cable {n}", "carries": name} for n, (name, *_) in enumerate(shuffled, 1)],
        steps=(
            f"Cables of one class may share a duct, so find the class of each ({source}).",
            f"The bus cable is in the class of signals. Supplies count as signals below {ac} V AC or below {dc} V DC.",
            *(f"{name}: {cable_kind}." for name, cable_kind in classes.items()),
        ),
        slips=(
            Slip(
                pattern([*right, relays]),
                f"{low} V AC is above the {ac} V that count for AC; {dc} V is the limit for DC.",
            ),
            Slip(pattern([n for n in right if n != sensors]), f"{low} V DC is below the {dc} V that count for DC."),
            Slip(pattern([*data, *right]), "The handbook counts telephone cables as high voltage or high frequency."),
            Slip(pattern([n for n in classes if n not in right]), "Those are the ones that must keep away."),
        ),
    )


_CABLES = (
    ("a motor cable", "motor", 400.0),
    ("a 230 V AC cable", "power", 230.0),
    ("a 690 V AC cable", "power", 690.0),
)


def distance(draw: Draw) -> Question:
    """The verdict on a distance, with all that the sources ask."""
    cable, use, volts = draw.pick(_CABLES)
    run = Run("it", use, volts, shielded=draw.pick((False, False, True)), parallel_m=draw.whole(5, 80),
              distance_m=draw.whole(2, 38, 2) / 100, divider=draw.pick(("none", "none", "steel")))  # fmt: skip
    (finding,) = check_run(run)
    limit = separation_limit(run)
    asked_m = sorted({(fact.number("distance_m"), fact.cited) for fact in limit.facts}, reverse=True)
    most, least = asked_m[0][0], limit.last
    beside = (
        f"{', with a shield' if run.shielded else ''}{', a steel divider between' if run.divider != 'none' else ''}"
    )
    too_hard = (
        f"Not allowed is what every source found forbids; the most lenient asks {quantity(least, 'm')}."
        if isfinite(least)
        else "Not allowed is what two documents at least agree on; here only one asks for a distance."
    )
    too_mild = f"The strictest source asks {quantity(most, 'm')}."
    in_order, cautious, not_allowed = VERDICTS
    right = finding.degree.verdict
    slips = {
        in_order: f"Even the most lenient source asks {quantity(least, 'm')}." if right == not_allowed else too_mild,
        cautious: (f"Here even the strictest source asks only {quantity(most, 'm')}." if right == in_order
                   else f"No source allows it: the most lenient asks {quantity(least, 'm')}."),
        not_allowed: too_hard,
    }  # fmt: skip
    return Question(
        f"The bus cable runs beside {cable}{beside}: {quantity(run.parallel_m, 'm')} long, "
        f"{quantity(run.distance_m, 'm')} apart. What is the verdict?",
        Choice(VERDICTS),
        right,
        rows=[{"least distance": quantity(m, "m"), "asked by": cited} for m, cited in asked_m],
        steps=(
            "Compare the distance with what the strictest and the most lenient of the sources ask.",
            f"Strictest {quantity(most, 'm')}, most lenient {quantity(least, 'm')}.",
            f"{quantity(run.distance_m, 'm')} is {finding.degree.words}.",
        ),
        slips=tuple(Slip(verdict, sentence) for verdict, sentence in slips.items() if verdict != right),
    )


def coupling_scaled(draw: Draw) -> Question:
    """The coupled voltage of a longer run, from a table for a short one."""
    edge = disturbers()["motor, no shield"]
    table_m, height_m = 5.0, 0.05
    distances = (0.05, 0.1, 0.2, 0.4)
    volts = [round(coupled(edge, parallel_m=table_m, distance_m=d, height_m=height_m).voltage_v, 3) for d in distances]
    n, length_m = draw.whole(1, 3), float(draw.whole(7, 29))
    right = volts[n] * length_m / table_m
    return Question(
        f"A motor cable without a shield runs beside the bus cable over {quantity(length_m, 'm')}, "
        f"{quantity(distances[n], 'm')} apart. The table holds for {quantity(table_m, 'm')} side by side "
        "(an order of magnitude).\nHow many V come into the loop of shield and tray?",
        Number("V", "voltage", relative=0.04),
        right,
        rows=[
            {"distance": quantity(d, "m"), "voltage in the loop": _three_digits(v, "V")}
            for d, v in zip(distances, volts, strict=True)
        ],
        steps=(
            "Look up the distance first, then go from the table's length to yours: the voltage grows with the length.",
            f"At {quantity(distances[n], 'm')} the table gives {_three_digits(volts[n], 'V')} for "
            f"{quantity(table_m, 'm')}.",
            f"{_three_digits(volts[n], 'V')} × {length_m:g} / {table_m:g} = {_three_digits(right, 'V')}.",
        ),
        slips=(
            Slip(volts[n], f"That is the value for {quantity(table_m, 'm')}; this run is longer."),
            Slip(volts[n] * length_m, f"The table's value is for {quantity(table_m, 'm')}, not for 1 m: divide by it."),
            Slip(
                volts[0] * distances[0] / distances[n] * length_m / table_m,
                "Twice the distance is not half the voltage: it falls faster. Take the table's own row.",
            ),
        ),
    )


def shield_ends(draw: Draw) -> Question:
    """Where the shield of a segment is earthed."""
    stations, length_m, volts = draw.whole(4, 28), draw.whole(30, 190, 5), draw.whole(2, 40) / 10
    right = "at both ends, over a large area, and carried through every plug; a bonding conductor beside the cable"
    one_end = "at one end only, so that no current can flow through it"
    tail = "at both ends, with a twisted tail to the nearest earth terminal"
    bridged = "at both ends, large area, but left off at the plugs in between; no bonding conductor"
    ends = facts.where("wiring_rules", rule="shield")
    potential = facts.one("wiring_rules", rule="potential differences")
    return Question(
        f"A segment of {length_m} m with {stations} stations joins two cabinets. Between their earths {volts:g} V are "
        "measured, which is not dangerous here. How is the shield to be earthed?",
        draw.choice((right, one_end, tail, bridged)),
        right,
        steps=(
            "Two things are wanted: a way for high frequencies at both ends, and no balancing current in the shield.",
            f"The shield: {ends[0]['about']} – {ends[0].cited}; {ends[1]['about']} – {ends[1].cited}.",
            f"The current: {potential['about']} – {potential.cited}.",
        ),
        slips=(
            Slip(
                one_end,
                "Open at one end it keeps out little at high frequency. The current gets a conductor of its own.",
            ),
            Slip(tail, "A tail is an inductance: at high frequency it is as good as open. Clamp it over a large area."),
            Slip(bridged, "Each gap lets noise in, and without a bonding conductor the shield carries the current."),
        ),
    )


def shield_alone(draw: Draw) -> Question:
    """The current through a shield that alone joins two earths."""
    open_v, source, cable_m = draw.whole(4, 60) / 10, draw.whole(2, 20) / 10, draw.whole(50, 400, 10)
    shield = shield_ohm(length_m=cable_m)
    right = compensating_current(open_v=open_v, source_ohm=source, shield_ohm=shield).shield_a
    return Question(
        f"Between the earths of two cabinets {open_v:g} V are measured while the shield is open at one end. The earth "
        f"path has {source:g} Ω. The bus cable is {cable_m} m long. {_SHIELD_IN_WORDS}.\n"
        "How many A flow when the shield is joined at both ends, with no bonding conductor?",
        Number("A", "current", relative=0.03),
        right,
        steps=(
            "It is one circuit: the voltage drives the current through earth path and shield, one after the other.",
            f"Shield: {cable_m} m × {_SHIELD.number('value'):g} Ω/m = {_three_digits(shield, 'Ω')}.",
            f"{open_v:g} V / ({source:g} Ω + {_three_digits(shield, 'Ω')}) = {_three_digits(right, 'A')}.",
            "Before anyone joins a shield in a plant: measure, AC and DC, and stop at what a hand may not touch.",
        ),
        slips=(
            Slip(open_v / shield, f"The earth path has resistance too: {source:g} Ω belong to the circuit."),
            Slip(open_v / source, "The shield has resistance too: add it to that of the earth path."),
            Slip(open_v / source + open_v / shield, "The two are in series, not side by side: add the resistances."),
        ),
    )


def shield_share(draw: Draw) -> Question:
    """The part of a balancing current that stays in the shield beside a bonding conductor."""
    length_m, area, total = draw.whole(40, 300, 10), draw.pick((4.0, 6.0, 10.0, 16.0, 25.0)), float(draw.whole(2, 25))
    shield, bond = shield_ohm(length_m=length_m), bond_ohm(area_mm2=area, length_m=length_m)
    right = total * bond / (shield + bond)
    return Question(
        f"A balancing current of {total:g} A flows between two cabinets, {length_m} m apart. It divides over the "
        f"shield of the bus cable and a copper bonding conductor of {area:g} mm² beside it, of the same length. "
        f"{_SHIELD_IN_WORDS}; copper has {_COPPER_MM2:g} Ω·mm²/m.\nHow many A stay in the shield?",
        Number("A", "current", relative=0.03),
        right,
        steps=(
            "Two resistances side by side: the current divides against their values, the smaller takes more.",
            f"Shield: {length_m} m × {_SHIELD.number('value'):g} Ω/m = {_three_digits(shield, 'Ω')}.",
            f"Conductor: {_COPPER_MM2:g} Ω·mm²/m × {length_m} m / {area:g} mm² = {_three_digits(bond, 'Ω')}.",
            f"{total:g} A × {_three_digits(bond, 'Ω')} / {_three_digits(shield + bond, 'Ω')} (both added) = "
            f"{_three_digits(right, 'A')}.",
        ),
        slips=(
            Slip(total - right, "That is the part in the bonding conductor: it has the smaller resistance."),
            Slip(total * bond / shield, "Divide by both resistances together, not by that of the shield alone."),
            Slip(total / 2, "The halves are equal only where the resistances are."),
            Slip(0.0, "No conductor takes all of it: a part always stays in the shield."),
        ),
    )


def bond_contacts(draw: Draw) -> Question:
    """The resistance of a bonding conductor with its two contacts."""
    length_m, area, contact = draw.whole(5, 60), draw.pick(conductor_areas()[3:6]), float(draw.whole(4, 90, 2))
    wire = bond_ohm(area_mm2=area, length_m=length_m) * 1000
    right = wire + 2 * contact
    return Question(
        f"A bonding conductor of {area:g} mm² copper is {length_m} m long. It is screwed on over paint: each of its "
        f"two contacts has {contact:g} mΩ. Copper has {_COPPER_MM2:g} Ω·mm²/m.\n"
        "How many mΩ has it from cabinet to cabinet?",
        Number("mΩ", relative=0.03, also=("mohm",)),
        right,
        steps=(
            "Wire and contacts lie one after the other, so their resistances add up.",
            f"Wire: {_COPPER_MM2:g} Ω·mm²/m × {length_m} m / {area:g} mm² = {_three_digits(wire, 'mΩ')}.",
            f"{_three_digits(wire, 'mΩ')} + 2 × {contact:g} mΩ = {_three_digits(right, 'mΩ')}.",
            "On bare metal the contacts all but vanish.",
        ),
        slips=(
            Slip(wire, "The contacts count: over paint they can be more than the whole wire."),
            Slip(wire + contact, "A wire has two ends, so two contacts."),
            Slip(2 * wire + 2 * contact, "The current goes along the conductor once, not there and back."),
        ),
    )


def wire_at_frequency(draw: Draw) -> Question:
    """The impedance of a short earth wire at a high frequency."""
    length_m, mega = draw.whole(10, 90, 5) / 100, draw.whole(2, 30)
    micro = round(Round(length_m, 4).henry * 1e6, 2)
    right = 2 * pi * mega * micro
    return Question(
        f"The earth wire of an option board is {length_m * 100:g} cm long and has an inductance of {micro:g} µH. An "
        f"ohmmeter shows 1 mΩ.\nHow many Ω has it for noise of {mega} MHz?",
        Number("Ω", "resistance", relative=0.03),
        right,
        steps=(
            "At high frequency the inductance decides: 2 × π × frequency × inductance.",
            f"2 × π × {mega} MHz × {micro:g} µH = {_three_digits(right, 'Ω')}; mega and micro cancel.",
            "Half the length would be a little less than half of it.",
        ),
        slips=(
            Slip(mega * micro, "2 × π is missing: the frequency must be turned into 2 × π × frequency."),
            Slip(0.001, "That is what a direct current sees; noise sees the inductance."),
            Slip(right / 1000, "Mega (a million) and micro (a millionth) cancel: no factor of 1000 is left."),
        ),
    )


def measure(draw: Draw) -> Question:
    """Which measure answers a noise that is seen."""
    measures = facts.rows("noise_measures")
    right = draw.pick(measures)
    # More than one measure helps against fast edges: only one of these stands among the options.
    apart = [
        row
        for row in measures
        if row["measure"] != right["measure"] and not (_against_edges(row) and _against_edges(right))
    ]
    others = draw.some(apart, 3)
    options = tuple(draw.shuffled((right["measure"], *(row["measure"] for row in others))))
    return Question(
        f"Station {draw.pick(STATIONS)} at Saltmarsh Mill. What is seen: {right['seen']}.\nEach of these helps against "
        "some noise. Which one closes this way in?",
        Choice(options),
        right["measure"],
        steps=(
            "Ask first how the noise gets in; the measure must close that way.",
            f"This points to: {right['noise']}. Then {right['measure']}.",
            f"Why: {right['why']} – {right.cited}.",
        ),
        slips=tuple(
            Slip(row["measure"], f"That answers something else, {row['noise']}: {row['seen']}.") for row in others
        ),
    )


def _against_edges(row: facts.Fact) -> bool:
    return row["noise"].startswith("fast edges")


def scope_rise(draw: Draw) -> Question:
    """The rise time that an oscilloscope adds by itself."""
    mega = draw.pick((20, 25, 30, 40, 50, 60, 70, 80, 100, 120, 150, 200, 250, 300, 350, 400, 500, 600, 700, 800))
    right = own_rise_s(mega * 1e6) * 1e9
    nano = ceil(1.2 * right) + draw.whole(2, 25)  # a screen shows no edge faster than its own
    return Question(
        f"An oscilloscope has a bandwidth of {mega} MHz. On its screen the bus shows edges of {nano} ns.\n"
        "What is the scope's own rise time, in ns?",
        Number("ns", "time", relative=0.03),
        right,
        steps=(
            "Rise time is 0.35 divided by the bandwidth.",
            f"0.35 / {mega} MHz = {_three_digits(right, 'ns')}.",
            "A rule of thumb: an edge can be trusted if it is three times slower than the scope itself.",
        ),
        slips=(
            Slip(1000 / mega, "That is the period at this frequency; the rise time is 0.35 of it."),
            Slip(float(nano), "That is what the screen shows: edge and scope together."),
            Slip(right / 1000, "Mega is a million and nano a thousand-millionth: 1 / MHz is 1000 ns."),
        ),
    )


KINDS: dict[str, Kind] = {
    "same-duct": same_duct,
    "distance": distance,
    "coupling-scaled": coupling_scaled,
    "shield-ends": shield_ends,
    "shield-alone": shield_alone,
    "shield-share": shield_share,
    "bond-contacts": bond_contacts,
    "wire-at-frequency": wire_at_frequency,
    "measure": measure,
    "scope-rise": scope_rise,
}
