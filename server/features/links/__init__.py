"""The builder's side of helpers' links: made, shown once, withdrawn."""
