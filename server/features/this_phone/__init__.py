"""How pages look on this phone, and what this phone can do here."""
