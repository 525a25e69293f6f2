"""What a technician can do to a practice line: each action changes what the hand changes, and no more."""
