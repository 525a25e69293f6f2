"""The same segment written once more, as a netlist for ngspice, and ngspice's answer.

Written from the description of the parts, not from the ladder. Balanced segments are written as one wire against
ground (the difference B − A); `three_wires` writes both cores.
"""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

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

    def __init__(self):
        self.lines, self.probes, self.models, self.count = [], [], {}, 0

    def add(self, kind, *words):
        self.count += 1
        self.lines.append(" ".join([f"{kind}{self.count}", *map(str, words)]))

    def line(self, near, far, cable, length_m):
        if length_m == 0:
            self.add("R", near, far, "1u")
            return
        key = (cable, length_m)
        if key not in self.models:
            self.models[key] = f"m{len(self.models)}"
        self.add("O", near, 0, far, 0, self.models[key])

    def inductor(self, trunk, plug):
        """The node on the cable's side of a plug; a plug on a stub has its inductors there."""
        if plug.stub_m or not plug.inductor_h:
            return trunk
        cable_side = f"{trunk}x{self.count}"
        self.add("L", trunk, cable_side, 2 * plug.inductor_h)
        return cable_side

    def cut(self, node):
        """The node beyond two open cores."""
        self.add("R", node, f"{node}cut", "2g")
        return f"{node}cut"

    def text(self, analysis):
        models = [ltra(name, cable, length) for (cable, length), name in self.models.items()]
        return "\n".join(["segment", *models, *self.lines, *analysis, ".end"])


def one_wire(segment, sending, sender, drive):
    """The difference B − A of a balanced segment. `drive` is ngspice's text for the sender's voltage source."""
    net = Netlist()
    for n, plug in enumerate(segment.plugs):
        pins = f"t{n}"
        if plug.stub_m:
            pins = f"p{n}"
            net.line(f"t{n}", f"s{n}", plug.stub_cable, plug.stub_m)
            net.add("L", f"s{n}", pins, 2 * plug.inductor_h)
        sign = -1 if plug.swapped else 1
        net.probes.append((pins, sign))
        for terminator in plug.terminators:
            net.add("R", pins, 0, terminator.rt_ohm)
            if terminator.supply != "open":
                net.add("R", pins, f"v{n}x{net.count}", 2 * terminator.rs_ohm)
                volts = sign * terminator.supply_v if terminator.supply == "on" else 0
                net.add("V", f"v{n}x{net.count - 1}", 0, f"dc {volts}")
        for fault in plug.faults:
            net.add("R", pins, 0, max(fault.ohm, 1e-3))
        if plug.receiver:
            net.add("R", pins, 0, 2 / plug.receiver.core_siemens)
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


def run(text, folder):
    """Let ngspice do the netlist; a failure shows what it said."""
    folder = Path(folder)
    (folder / "segment.cir").write_text(text)
    done = subprocess.run(
        [NGSPICE, "-b", "segment.cir"], cwd=folder, capture_output=True, text=True, timeout=60, check=False
    )
    assert (folder / "out.txt").exists(), done.stdout[-2000:] + done.stderr[-2000:]
    return np.loadtxt(folder / "out.txt")


def ac(net, folder, points_per_decade=20, low="10k", high="100meg"):
    """Frequencies and the complex voltages at the probes."""
    asked = " ".join(f"v({node})" for node, _ in net.probes)
    control = [f".control\nset wr_singlescale\nset numdgt=12\nac dec {points_per_decade} {low} {high}"]
    control += [f"wrdata out.txt {asked}", ".endc"]
    table = run(net.text(control), folder)
    signs = np.array([sign for _, sign in net.probes])[:, None]
    return table[:, 0], signs * (table[:, 1::2] + 1j * table[:, 2::2]).T


def tran(net, folder, step_s, stop_s, most_s):
    """Times and the voltages at the probes."""
    asked = " ".join(f"v({node})" for node, _ in net.probes)
    control = [f".control\nset wr_singlescale\nset numdgt=12\ntran {step_s:.6g} {stop_s:.6g} 0 {most_s:.6g}"]
    control += [f"linearize {asked}", f"wrdata out.txt {asked}", ".endc"]
    table = run(net.text(control), folder)
    signs = np.array([sign for _, sign in net.probes])[:, None]
    return table[:, 0], signs * table[:, 1:].T
