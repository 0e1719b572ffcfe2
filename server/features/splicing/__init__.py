"""Where to cut two salvaged pipes so that they join, and from a splice to a design."""
