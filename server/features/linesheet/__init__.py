"""One line of the ledger as a sheet of its own."""
