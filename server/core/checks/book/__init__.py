"""What the handbook explains about each rule: its formula as a tree, and an example worked with it."""
