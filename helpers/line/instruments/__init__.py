"""What a technician looks at: instruments that read the same model, and never know which fault is in it."""
