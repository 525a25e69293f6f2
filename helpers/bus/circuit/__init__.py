"""The segment as an electrical circuit: one description, solved for direct current and for the waveform.

| file | subject |
|---|---|
| elements | what a circuit is built of, and the circuit of a segment as it is laid |
| faults | a healthy segment in, a faulty one out; a segment as it is laid, with what is wrong with it |
| network, dc, meter | direct current: branches and nodes, their solution, readings between two pins |
| line, twoport, ladder | signal frequencies: the cable, pieces of the bus, the whole segment |
| edge, waveform | one edge in, voltages over time out; bits in, one edge laid over itself |
| trial_line, rules, bounce | a line for lessons; the rules beside the calculation; one edge followed by hand |
| margin, reception | what a receiver makes of them: margins, worst pair, eye, which telegrams arrive |
"""
