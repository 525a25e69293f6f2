"""Panels on cable, segments, termination, waveform, shield and separation."""
