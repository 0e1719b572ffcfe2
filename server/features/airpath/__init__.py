"""The path of the air from filter to throttle, and of the exhaust to the tailpipe, as one sheet."""
