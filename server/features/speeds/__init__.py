"""How fast air or exhaust goes in each piece of a run, as a drawing."""
