"""Designs of one subsystem side by side: what each answers, costs, waits for and holds."""
