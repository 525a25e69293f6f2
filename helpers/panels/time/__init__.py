"""Panels on bus cycle, polling and response."""
