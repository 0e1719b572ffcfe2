"""Verdicts: what the checks of a run answer, as values for pages."""
