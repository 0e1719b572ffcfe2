"""The rules of the line map, read out of their register."""

from datetime import datetime

from server.core.lines.register import RULES
from server.features.lines import page


def line_rules_page(now: datetime) -> page.LineRulesPage:
    return page.line_rules_page(RULES, now.date())
