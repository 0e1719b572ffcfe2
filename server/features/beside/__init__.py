"""Two photos of a build side by side, whatever they show, and the photos of a design and its pieces."""
