"""Going through the page by the tabulator key alone, as those do who use no mouse."""

from playwright.sync_api import Page

STOPS = "button:enabled, input:enabled, textarea:enabled, select:enabled, a[href], [tabindex='0']"
ALL_STOPS = """(all) => all.map((one) => one.id || one.ariaLabel || one.textContent)"""
AT_FOCUS = """() => {
    const one = document.activeElement;
    const beside = one.matches('.switch input') ? one.nextElementSibling : one;
    const style = getComputedStyle(beside), box = beside.getBoundingClientRect();
    const there = document.elementFromPoint(box.x + box.width / 2, box.y + Math.min(box.height / 2, 5));
    const outlined = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
    return [one.id || one.ariaLabel || one.textContent, outlined && there !== null];
}"""


def expect_all_reached_and_seen(page: Page) -> None:
    """Fail unless every visible stop of the page is reached, stands in the window then, and has an outline.

    Of a group of choices only the chosen one is a stop; arrows lead to the others.
    """
    names = set(page.locator(STOPS).filter(visible=True).evaluate_all(ALL_STOPS)) - {""}
    reached: set[str] = set()
    unseen: list[str] = []
    page.locator("body").press("Home")
    for _ in range(2 * len(names) + 10):
        page.keyboard.press("Tab")
        name, seen = page.evaluate(AT_FOCUS)
        reached.add(name)
        if not seen and name in names:
            unseen.append(name)
        if names <= reached:
            break
    assert names - reached == set()
    assert unseen == []
