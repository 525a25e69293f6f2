"""A network plan: read, check, propose, record."""
