"""Witness Mark: from measured ports to checked pipe designs and a safe first start."""
