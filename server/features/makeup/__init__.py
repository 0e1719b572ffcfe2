"""What a subsystem is made of, as tables for sheets that are kept."""
