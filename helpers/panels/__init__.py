"""What a person sees and touches: widgets, figures and drawings."""
