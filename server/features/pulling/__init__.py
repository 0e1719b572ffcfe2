"""A hose comes off at the car: its number, and photos."""
