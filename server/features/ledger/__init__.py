"""The connection ledger of a build: rows, forms and queries."""
