"""Pieces that may have to be made again, handed to the forecast as plain chances."""
