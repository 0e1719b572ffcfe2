"""The handbook: the register of rules, read out."""

from datetime import datetime

from server.core.checks.handbook import handbook
from server.features.handbook import page


def handbook_page(now: datetime) -> page.HandbookPage:
    return page.handbook_page(handbook(), now.date())
