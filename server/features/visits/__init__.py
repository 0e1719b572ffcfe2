"""Whether a visit is ready, and the sheet that the helper works from."""
