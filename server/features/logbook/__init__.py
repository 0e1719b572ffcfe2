"""The whole log with its photos as one file to keep: HTML that needs nothing else, or PDF."""
