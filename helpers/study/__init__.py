"""Questions, wrong answers that teach, marking and progress."""
