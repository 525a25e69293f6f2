"""The device description (GSD): read it, check it, compare two issues of it, and put a station together from it."""
