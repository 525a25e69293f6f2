"""The drive: control and status words, states, scaling and parameters."""
