"""Passkeys: a phone's own lock in place of the passphrase."""
