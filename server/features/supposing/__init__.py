"""What the dates were, if: another day, faster post, a helper later. Nothing is changed."""
