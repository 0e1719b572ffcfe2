"""The usual set: what nearly every turbo conversion has to make, keep and do, as frozen values."""
