"""A subsystem on paper: everything that speaks for it, on one sheet to print or to keep."""
