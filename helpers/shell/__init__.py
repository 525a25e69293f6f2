"""The ten-minute questions from a shell: `python -m helpers --help`."""
