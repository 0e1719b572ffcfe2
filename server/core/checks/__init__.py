"""One register of sizing and fit rules, applied to a run at the engine's peak, with their doubt."""
