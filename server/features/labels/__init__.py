"""Labels with codes for boxes, parts, lines and pieces, on sheets of stickers."""
