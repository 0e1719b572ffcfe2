"""Addresses of passkeys."""


def passkeys() -> str:
    """Those of who asks."""
    return "/passkeys"


def new() -> str:
    """What a browser asks before it makes one."""
    return "/passkeys/new"


def withdrawal(passkey_id: int) -> str:
    return f"/passkeys/{passkey_id}/withdrawal"


def sign_in() -> str:
    """Where a signed challenge is sent."""
    return "/sign-in/passkey"


def challenge() -> str:
    """What a browser asks before it signs in by one."""
    return "/sign-in/passkey/challenge"
