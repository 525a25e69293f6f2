"""Questions and progress as a learner sees them."""
