"""Buying: what is in hand, on order and short, and who it is for."""
