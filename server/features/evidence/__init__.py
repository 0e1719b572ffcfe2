"""A check told in full, for sheets that are kept."""
