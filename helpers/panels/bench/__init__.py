"""The practice line on the bench."""
