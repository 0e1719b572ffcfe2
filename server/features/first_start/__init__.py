"""The gate before the first start: stages that are signed one after the other."""
