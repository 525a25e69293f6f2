"""The same segment written once more, as a netlist for ngspice, and ngspice's answer.

Written from the description of the parts, not from the ladder. Balanced segments are written as one wire against
ground (the difference B − A); `three_wires` writes both cores.
"""

import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from helpers.bus.circuit.elements import Break, Short

NGSPICE = shutil.which("ngspice")
outside = [
    pytest.mark.outside,
    pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed: nothing outside to compare with"),
]


def ltra(name, cable, length_m):
    """A uniform lossy line with constant resistance; without resistance ngspice wants the other element."""
    inductance = cable.impedance_ohm * cable.delay_s_per_m
    capacitance = cable.delay_s_per_m / cable.impedance_ohm
    figures = f"r={cable.loop_ohm_per_m:.9g} l={inductance:.9g} g=0 c={capacitance:.9g} len={length_m:.9g}"
    return f".model {name} ltra({figures} rel=1 abs=1)"


class Netlist:
    """Lines of a netlist; `probes` are the nodes where the stations measure."""

    def __init__(self, lossless=False):
        self.lossless = lossless
        self.lines, self.probes, self.models, self.count = [], [], {}, 0

    def add(self, kind, *words):
        self.count += 1
        self.lines.append(" ".join([f"{kind}{self.count}", *map(str, words)]))

    def line(self, near, far, cable, length_m):
        if length_m == 0:
            self.add("R", near, far, "1u")
            return
        if self.lossless:  # ngspice's quick element; rel=4 keeps it from halting at every echo, steps must be short
            delay_s = cable.delay_s_per_m * length_m
            self.add("T", near, 0, far, 0, f"z0={cable.impedance_ohm}", f"td={delay_s:.12g}", "rel=4")
            return
        key = (cable, length_m)
        if key not in self.models:
            self.models[key] = f"m{len(self.models)}"
        self.add("O", near, 0, far, 0, self.models[key])

    def inductor(self, trunk, plug, times=2):
        """The node on the cable's side of a plug; a plug on a stub has its inductors there."""
        if plug.stub_m or not plug.inductor_h:
            return trunk
        cable_side = f"{trunk}x{self.count}"
        self.add("L", trunk, cable_side, times * plug.inductor_h)
        return cable_side

    def terminator(self, landed, terminator):
        vp = f"vp{self.count}"
        ground = 0 if terminator.dgnd else f"dg{self.count}"
        self.add("R", vp, landed["B"], terminator.rs_ohm)
        self.add("R", landed["B"], landed["A"], terminator.rt_ohm)
        self.add("R", landed["A"], ground, terminator.rs_ohm)
        if terminator.supply != "open":
            self.add("V", vp, 0, f"dc {terminator.supply_v if terminator.supply == 'on' else 0}")

    def faults(self, here, found):
        """Shorts between the two cores and the shield (ground); breaks give new nodes beyond them."""
        here = dict(here)
        for fault in found:
            if isinstance(fault, Short):
                ends = [{**here, "shield": 0}[name] for name in (fault.first, fault.second)]
                self.add("R", *ends, max(fault.ohm, 1e-3))
            elif fault.core != "shield":
                beyond = f"k{self.count}"
                self.add("R", here[fault.core], beyond, min(fault.ohm, 1e9))
                here[fault.core] = beyond
        return here

    def pair(self, near, far, cable, length_m):
        """Both cores of a cable against the shield, as one line a mode. IB = Id + Ic/2, IA = -Id + Ic/2."""
        both = replace(
            cable,
            impedance_ohm=cable.common_ohm,
            loop_ohm_per_m=cable.loop_ohm_per_m / 4 + cable.shield_ohm_per_m,
        )
        ends = []
        for side in (near, far):
            k = self.count
            self.lines += [
                f"Ed{k} ed{k} 0 {side['B']} {side['A']} 1",
                f"Vd{k} ed{k} d{k} 0",
                f"Ec{k} ec{k} h{k} {side['A']} 0 0.5",
                f"Eh{k} h{k} 0 {side['B']} 0 0.5",
                f"Vc{k} ec{k} c{k} 0",
                f"Fbd{k} {side['B']} 0 Vd{k} 1",
                f"Fbc{k} {side['B']} 0 Vc{k} 0.5",
                f"Fad{k} {side['A']} 0 Vd{k} -1",
                f"Fac{k} {side['A']} 0 Vc{k} 0.5",
            ]
            ends.append((f"d{k}", f"c{k}"))
            self.count += 1
        for (left, right), mode in zip(zip(*ends, strict=True), (cable, both), strict=True):
            self.line(left, right, mode, length_m)

    def cut(self, node, ohm="2g"):
        """The node beyond two open cores in one, or beyond one of 1 GΩ."""
        self.add("R", node, f"{node}cut", ohm)
        return f"{node}cut"

    def text(self, analysis):
        models = [ltra(name, cable, length) for (cable, length), name in self.models.items()]
        return "\n".join(["segment", *models, *self.lines, *analysis, ".end"])


def one_wire(segment, sending, sender, drive, *, lossless=False):
    """The difference B − A of a segment whose sections are sound and whose plugs know shorts from A to B only.

    `drive` is ngspice's text for the sender's voltage source; `lossless` takes the cable without its resistance.
    """
    net = Netlist(lossless)
    for n, plug in enumerate(segment.plugs):
        pins = f"t{n}"
        if plug.stub_m:
            pins = f"p{n}"
            net.line(f"t{n}", f"s{n}", plug.stub_cable, plug.stub_m)
            net.add("L", f"s{n}", pins, 2 * plug.inductor_h)
        sign = -1 if plug.swapped else 1
        net.lines.append(f"Eseen{n} seen{n} 0 {pins} 0 {sign}")
        net.probes.append(f"v(seen{n})")
        for terminator in plug.terminators:
            net.add("R", pins, 0, terminator.rt_ohm)
            if terminator.supply != "open":
                net.add("R", pins, f"v{n}x{net.count}", 2 * terminator.rs_ohm)
                volts = sign * terminator.supply_v if terminator.supply == "on" else 0
                net.add("V", f"v{n}x{net.count - 1}", 0, f"dc {volts}")
        for fault in plug.faults:
            net.add("R", pins, 0, max(fault.ohm, 1e-3))
        if plug.receiver:
            net.add("R", pins, 0, 2 / plug.receiver.core_conductance)
            net.add("C", pins, 0, plug.receiver.capacitance_f)
        if n == sending:
            net.add("V", "emf", 0, drive)
            net.add("R", "emf", pins, sender.source_ohm)
    for n, section in enumerate(segment.sections):
        left = net.inductor(f"t{n}", segment.plugs[n])
        right = net.inductor(f"t{n + 1}", segment.plugs[n + 1])
        left = net.cut(left) if segment.cut_side(n) == "right" else left
        right = net.cut(right) if segment.cut_side(n + 1) == "left" else right
        net.line(left, right, section.cable, section.length_m)
    return net


def two_wires(segment, sending, sender):
    """Both cores against the shield, which is ground: plugs, faults and, for `.ac`, the cable as two modes.

    Every DGND lies on the shield. The cable is a line for the difference and one for the common part, each joined
    to the cores by ideal transformers made of controlled sources.
    """
    net = Netlist()
    for n, plug in enumerate(segment.plugs):
        trunk = {core: f"t{n}{core}" for core in "AB"}
        if plug.stub_m:
            end = {core: f"s{n}{core}" for core in "AB"}
            net.pair(trunk, end, plug.stub_cable, plug.stub_m)
            trunk = {core: net.inductor(end[core], replace(plug, stub_m=0), 1) for core in "AB"}
        landed = {"A": trunk["B"], "B": trunk["A"]} if plug.swapped else trunk
        for terminator in plug.terminators:
            net.terminator(landed, terminator)
        net.faults(landed, [fault for fault in plug.faults if isinstance(fault, Short)])
        device = net.faults(landed, [fault for fault in plug.faults if isinstance(fault, Break)])
        net.probes.append(f"v({device['B']})-v({device['A']})")
        if plug.receiver:
            net.add("C", device["A"], device["B"], plug.receiver.capacitance_f)
            for core in "AB":
                net.add("R", device[core], 0, 1 / plug.receiver.core_conductance)
        if n == sending:
            for core, half in (("A", -0.5), ("B", 0.5)):
                net.add("V", f"emf{core}", 0, f"dc 0 ac {half}")
                net.add("R", f"emf{core}", device[core], sender.source_ohm / 2)
    for n, section in enumerate(segment.sections):
        here = {core: net.inductor(f"t{n}{core}", segment.plugs[n], 1) for core in "AB"}
        there = {core: net.inductor(f"t{n + 1}{core}", segment.plugs[n + 1], 1) for core in "AB"}
        if segment.cut_side(n) == "right":
            here = {core: net.cut(node, "1g") for core, node in here.items()}
        if segment.cut_side(n + 1) == "left":
            there = {core: net.cut(node, "1g") for core, node in there.items()}
        parts = list(section.parts())
        for piece, part in enumerate(parts):
            if isinstance(part, Short | Break):
                here = net.faults(here, [part])
                continue
            end = there if piece == len(parts) - 1 else {core: f"w{n}x{piece}{core}" for core in "AB"}
            net.pair(here, end, section.cable, part)
            here = end
        if here is not there:
            for core in "AB":
                net.add("R", here[core], there[core], "0.1m")
    return net


def five_wires(segment, *, devices, dgnd):
    """Every resistance of a segment for direct current: A, B, shield, DGND and VP at each plug."""
    net = Netlist()
    for n, plug in enumerate(segment.plugs):
        a, b, ground, vp = f"A{n}", f"B{n}", f"DGND{n}", f"VP{n}"
        trunk = {"A": f"t{n}A", "B": f"t{n}B"}
        for core, pin in zip("AB", (b, a) if plug.swapped else (a, b), strict=True):
            net.add("R", trunk[core], pin, plug.stub_m * plug.stub_cable.loop_ohm_per_m / 2 or "0.1m")
        supplied = devices == "powered" and plug.receiver is not None
        for terminator in plug.terminators:
            tied = devices != "unplugged" and terminator.supply != "open"
            net.add("R", vp if tied else f"vfree{net.count}", b, terminator.rs_ohm)
            net.add("R", b, a, terminator.rt_ohm)
            joined = devices != "unplugged" and terminator.dgnd
            net.add("R", a, ground if joined else f"gfree{net.count}", terminator.rs_ohm)
            supplied = supplied or (tied and terminator.supply == "on" and devices == "powered")
        if any(terminator.supply == "dead" for terminator in plug.terminators) or devices == "dead":
            net.add("R", vp, ground, "0.1m")
        elif supplied:
            net.add("V", f"x{n}", ground, "dc 5")
            net.add("R", f"x{n}", vp, "0.1m")
        for core, pin in (("A", a), ("B", b)):
            broken = sum(min(f.ohm, 1e12) for f in plug.faults if isinstance(f, Break) and f.core == core)
            net.add("R", pin, f"dev{n}{core}", broken or "0.1m")
            if plug.receiver and devices != "unplugged":
                net.add("R", f"dev{n}{core}", ground, 12000 / plug.receiver.unit_loads)
        for fault in plug.faults:
            if isinstance(fault, Short):
                net.add("R", f"{fault.first}{n}", f"{fault.second}{n}", max(fault.ohm, 1e-3))
        if dgnd == "earthed":
            net.add("R", ground, f"shield{n}", "0.1m")
        elif dgnd == "common":
            net.add("R", ground, "dgndrail", "0.1m")
    for n, section in enumerate(segment.sections):
        here = {"A": f"t{n}A", "B": f"t{n}B", "shield": f"shield{n}"}
        there = {"A": f"t{n + 1}A", "B": f"t{n + 1}B", "shield": f"shield{n + 1}"}
        for end, side in ((here, segment.cut_side(n) == "right"), (there, segment.cut_side(n + 1) == "left")):
            for core in "AB" if side else "":
                net.add("R", end[core], f"{end[core]}cut{n}", "1t")
                end[core] = f"{end[core]}cut{n}"
        at = 0.0
        for fault in [*sorted(section.faults, key=lambda f: f.at_m), None]:
            to = section.length_m if fault is None else fault.at_m
            for core, share in (("A", 0.5), ("B", 0.5), ("shield", 0)):
                per_m = section.cable.loop_ohm_per_m * share or section.cable.shield_ohm_per_m
                beyond = there[core] if fault is None else f"m{n}{core}{net.count}"
                net.add("R", here[core], beyond, per_m * (to - at) or "0.1m")
                here[core] = beyond
            if isinstance(fault, Short):
                net.add("R", here[fault.first], here[fault.second], max(fault.ohm, 1e-3))
            elif isinstance(fault, Break):
                beyond = f"k{n}{net.count}"
                net.add("R", here[fault.core], beyond, min(fault.ohm, 1e12))
                here[fault.core] = beyond
            at = to
    return net


def edges(bits, bit_rate, sender):
    """The sender's voltage as ngspice's list of times and volts: idle for two bits, then the bits, then idle.

    Each edge is half a turn of a cosine in twelve straight pieces.
    """
    points, level = [(0.0, 1.0)], 1.0
    for n, bit in enumerate([*bits, 1]):
        new = 2.0 * bit - 1
        if new != level:
            share = np.linspace(0, 1, 13)
            times = (2 + n) / bit_rate + share * sender.rise_s
            points += zip(times, level + (new - level) * (1 - np.cos(np.pi * share)) / 2, strict=True)
        level = new
    return "pwl(" + " ".join(f"{t:.12g} {sender.open_circuit_v * v:.9g}" for t, v in points) + ")"


def run(text, folder):
    """Let ngspice do the netlist; a failure shows what it said."""
    folder = Path(folder)
    (folder / "segment.cir").write_text(text)
    (folder / "out.txt").unlink(missing_ok=True)
    done = subprocess.run(
        [NGSPICE, "-b", "segment.cir"], cwd=folder, capture_output=True, text=True, timeout=300, check=False
    )
    assert (folder / "out.txt").exists(), done.stdout[-2000:] + done.stderr[-2000:]
    return np.loadtxt(folder / "out.txt")


def ac(net, folder, points_per_decade=20, low="10k", high="100meg"):
    """Frequencies and the complex voltages at the probes."""
    asked = " ".join(net.probes)
    control = [f".control\nset wr_singlescale\nset numdgt=12\nac dec {points_per_decade} {low} {high}"]
    control += [f"wrdata out.txt {asked}", ".endc"]
    table = run(net.text(control), folder)
    return table[:, 0], (table[:, 1::2] + 1j * table[:, 2::2]).T


def tran(net, folder, *, step_s, stop_s):
    """Times and the voltages at the probes; ngspice may take shorter steps of its own."""
    asked = " ".join(net.probes)
    control = [f".control\nset wr_singlescale\nset numdgt=12\ntran {step_s:.6g} {stop_s:.6g} 0 {step_s:.6g}"]
    control += [f"wrdata out.txt {asked}", ".endc"]
    table = run(net.text(control), folder)
    return table[:, 0], table[:, 1:].T


def op(net, folder, pairs, *, current=None):
    """Direct voltage of each pair of nodes; `current` names the two nodes through which 1 A is sent."""
    names = {word for line in net.lines for word in line.split()[1:3]} - {"0"}
    extra = [f"Rleak{k} {name} 0 1e11" for k, name in enumerate(sorted(names))]
    if current:
        extra.append(f"Imeter {current[1]} {current[0]} dc 1")
    asked = " ".join(f"v({plus})-v({minus})" for plus, minus in pairs)
    control = [
        *extra,
        ".options gmin=1e-15",
        f".control\nset wr_singlescale\nset numdgt=12\nop\nwrdata out.txt {asked}\n.endc",
    ]
    return np.atleast_1d(run(net.text(control), folder))[1:]
