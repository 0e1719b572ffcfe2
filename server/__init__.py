"""Witness Mark: from measured ports to checked pipe designs and a safe first start."""

import os

# Matrices here are small and a server answers many at once: threads of their own would only spin.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
