"""What the page owes to those who see, hear or move otherwise: WCAG 2.1, levels A and AA, by axe-core."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

_RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}}


def expect_no_barrier(page: Page) -> None:
    """Fail with axe-core's report if the page as it stands breaks a rule."""
    found = Axe().run(page, options=_RULES)
    assert found.violations_count == 0, found.generate_report()
