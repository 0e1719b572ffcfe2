"""The plan drawn as a strip of days."""
