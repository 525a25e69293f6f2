"""The stations of the practice line: DP slave, drive, machine, remote I/O."""
