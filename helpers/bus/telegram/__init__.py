"""Octets on the bus: characters, telegrams, function codes, and how well they guard against errors."""
