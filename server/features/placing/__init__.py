"""The sheets of where ports are."""
