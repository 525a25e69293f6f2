"""Panels on device description, data formats and I/O image."""
