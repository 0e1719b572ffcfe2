"""A build as one open file: written out, and brought in elsewhere."""
