"""A piece cut long and trimmed to fit: how long at first, what may come off next, and its log."""
