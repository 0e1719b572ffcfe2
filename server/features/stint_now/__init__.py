"""What to do in the time there is now."""
