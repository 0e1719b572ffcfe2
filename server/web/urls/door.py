"""Addresses at the door of a server that others can reach, beside those of signing in and out."""


def signed_in() -> str:
    """Which browsers are signed in as who asks, their passphrase, and the builders of the server."""
    return "/signed-in"


def ending(sign_in_id: int) -> str:
    """Where one browser is signed out."""
    return f"{signed_in()}/{sign_in_id}/end"


def endings() -> str:
    """Where all but this browser are signed out."""
    return f"{signed_in()}/others/end"


def passphrase() -> str:
    """Where the passphrase is changed."""
    return f"{signed_in()}/passphrase"


def builders() -> str:
    """Where a further builder is let in."""
    return f"{signed_in()}/builders"
