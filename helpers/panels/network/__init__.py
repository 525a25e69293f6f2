"""Panels on addresses, the network plan and the record."""
