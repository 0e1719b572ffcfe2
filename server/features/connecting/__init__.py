"""The ledger as pages: what is open, what breaks a rule, and whether a line may go."""
