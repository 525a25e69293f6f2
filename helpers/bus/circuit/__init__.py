"""The segment as an electrical circuit: one description, solved for direct current and for the waveform.

| file | subject |
|---|---|
| elements | what a segment is built of: cable, plugs, terminators, receivers, faults |
| faults | a healthy segment in, a faulty one out |
| network, dc, meter | direct current: nodes and branches, their solution, readings between two pins |
| line, ladder | signal frequencies: the cable as a two-port, the whole segment as a ladder |
| waveform, margin, telegram_margin | voltages over time, what a receiver makes of them, which telegrams arrive |
"""
