"""Parameters of a drive: access over the parameter channel and over acyclic services."""
