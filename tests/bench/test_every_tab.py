"""Every tab of the page, as the application lists them: in its place, at twice its size, by keys, in light and dark."""

import re
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.bench.app import TASKS, page_folder
from tests.bench.axe import expect_no_barrier
from tests.bench.by_keys import expect_all_reached_and_seen
from tests.bench.conftest import SIZE, RunningBench, open_task, window

pytestmark = pytest.mark.xdist_group("browser")


def title(task: str) -> str:
    found = re.search(r'TITLE = "(.+)"', (page_folder() / "tasks" / f"{task}.js").read_text(encoding="utf-8"))
    assert found is not None
    return found[1]


TITLES = [title(task.__name__.rpartition(".")[2].removesuffix("_task")) for task in TASKS]
TABS_AND_ROOM = """() => {
    const tabs = [...document.querySelectorAll("#tasks a")].map((tab) => tab.getBoundingClientRect());
    const plate = document.getElementById("plate"), whole = document.documentElement;
    return {
        places: tabs.map((box) => [box.x, box.right]),
        lines: new Set(tabs.map((box) => box.y)).size,
        beyond: [plate.scrollHeight - plate.clientHeight, whole.scrollHeight - innerHeight, whole.scrollWidth - innerWidth],
    };
}"""


def settled(page: Page, name: str) -> None:
    """Open a tab and wait until all that comes to it by itself has come."""
    open_task(page, name)
    expect(page.locator("#work h2").first).to_be_visible()
    expect(page.locator("#solving")).to_be_hidden()
    page.wait_for_load_state("networkidle")


@pytest.mark.slow
def test_the_tabs_stand_in_one_line_and_none_moves_when_another_is_taken(page: Page) -> None:
    page.locator("#title").evaluate(
        "title => { title.textContent = title.textContent + ', varnished and played in' }"
    )
    seen = []
    for name in TITLES:
        open_task(page, name)
        expect(page.get_by_role("link", name=name)).to_have_attribute("aria-current", "page")
        seen.append(page.evaluate(TABS_AND_ROOM))
    assert len(seen[0]["places"]) == len(TITLES)
    assert {one["lines"] for one in seen} == {1}
    assert max(beyond for one in seen for beyond in one["beyond"]) <= 0
    edges = [[edge for place in one["places"] for edge in place] for one in seen]
    assert all(found == pytest.approx(edges[0], abs=0.51) for found in edges)


@pytest.mark.slow
@pytest.mark.parametrize("name", TITLES)
def test_a_tab_is_gone_through_by_keys_alone(name: str, page: Page) -> None:
    settled(page, name)
    expect_all_reached_and_seen(page)


@pytest.mark.slow
@pytest.mark.parametrize("name", TITLES)
def test_words_at_twice_their_size_run_out_nowhere(name: str, page: Page) -> None:
    """What a browser does at 200 %: half as many pixels for the page."""
    settled(page, name)
    page.set_viewport_size({"width": SIZE["width"] // 2, "height": SIZE["height"] // 2})
    expect(page.locator("#ink")).to_be_attached()
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    expect_no_barrier(page)


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_tab_has_a_barrier_in_light_or_dark(
    scheme: Literal["light", "dark"], browser: Browser, bench: RunningBench
) -> None:
    with window(browser, bench, scheme) as page:
        for name in TITLES:
            settled(page, name)
            expect_no_barrier(page)
