"""The pressure test of the charge side: how it is made, and what each one came to."""
