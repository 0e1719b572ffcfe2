"""The stages of the first start on paper, for the garage wall."""
