"""Subsystems: their designs side by side."""
