"""The door of a server that others can reach: its passphrase, and a clock that can be turned."""

from datetime import datetime

PASSPHRASE = "tin kettle on a wet bench"
PLAIN_FORM = {"passphrase": PASSPHRASE, "back": "/builds?x=1"}


class Watch:
    """A clock that a test can turn."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now
