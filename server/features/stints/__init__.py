"""When the garage is worked in, and who comes to help."""
