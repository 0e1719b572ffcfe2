"""The sheet of what stands near a run."""
