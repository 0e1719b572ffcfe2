"""What the forecast said day by day, and how it moved."""
