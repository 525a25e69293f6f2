"""Panels on telegrams, start-up, diagnosis and recordings."""
