"""Time on the bus: bit times, message cycles, token rotation, bus cycle, response, watchdog."""
