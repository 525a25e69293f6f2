"""The banks of questions, one a lesson."""
