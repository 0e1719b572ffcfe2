"""The gate before the first start: its stages, what holds each of them, and whether a signature stands.

Source of its order and limits: common practice, no source, unless one is named.
"""
