"""Routes from port to port through bends that can be bought, and from a route to a design."""
