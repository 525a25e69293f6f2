"""The practice line: a whole bus in simulated time, which can be broken and repaired."""
