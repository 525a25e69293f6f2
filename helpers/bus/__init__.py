"""The bus: addresses, segments, the cable as a circuit, telegrams, services and time."""
