"""Witness Mark: from measured ports to checked pipe designs and a safe first start."""

import gc
import os

# Matrices here are small and a server answers many at once: threads of their own would only spin.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# The collector comes seldom, but does not stay away. What is loaded stays, and walking it over and over took
# a fifth of the start; a page worked out anew makes some ten thousand objects that all live until it is
# sent, and walking them took a third of a large build's page. What falls due is mostly seen to between two
# answers (`tidying`); at these numbers it comes amid one that makes very many objects.
gc.set_threshold(50_000, 20, 20)
