"""Panels on words, states, scaling and parameters of a drive."""
