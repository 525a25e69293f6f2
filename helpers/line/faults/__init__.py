"""What can be wrong with a practice line: each fault changes the circuit, a device, a setting or a file, no more."""
