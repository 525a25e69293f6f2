"""The device on the bus: its description, configuration identifiers, data formats and I/O image."""
