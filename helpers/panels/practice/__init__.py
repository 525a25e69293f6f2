"""Fault finding on the practice line."""
