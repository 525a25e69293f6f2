"""Recorded telegrams: reading them, and telling what they mean."""
