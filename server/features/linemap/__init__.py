"""The line map as a drawing, in one state of the engine."""
