"""A run as a pipe fitter draws it: one line in space, by the conventions of ISO 6412 (from memory)."""
