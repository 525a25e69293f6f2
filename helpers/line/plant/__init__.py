"""The plant of the practice line as it stands still: cable, devices, settings, project."""
