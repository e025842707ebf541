"""The book on the page: the command's plates for the same question, its trend and its files, by mouse and by keys."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TypedDict

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.bench.book_question import BookQuestion, Range, request_of
from solver.bench.page_words import in_page_words
from solver.cli import main
from solver.core.errors import InputError
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import CASE, RunningBench, bench_on, open_task, tab_to, window
from tests.book_plates import write_book

pytestmark = pytest.mark.xdist_group("browser")
OTHER = "violin-back-walnut"
PLATES = 12


class FigureJson(TypedDict):
    """A figure as ``platewright book`` tells of it."""

    value: float


class PlateJson(TypedDict):
    """A plate as ``platewright book`` tells of it."""

    name: str
    figures: dict[str, FigureJson]
    steps: float | None


class BookJson(TypedDict):
    """What ``platewright book`` tells; not every key is here."""

    plates: list[PlateJson]
    remarks: list[str]


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    """A bench with the demonstration top, beside which lie the back and the plates of a made-up book."""
    place = tmp_path_factory.mktemp("shelf") / "plates"
    write_book(place, PLATES, 4, readings=20)
    with bench_on(place, place.parent / "state", CASE, OTHER) as running:
        yield running


@pytest.fixture
def opened(shelf: RunningBench, browser: Browser) -> Iterator[Page]:
    with window(browser, shelf) as page:
        expect(page.locator("#tasks")).to_be_visible()
        yield page


def command(capsys: pytest.CaptureFixture[str], folder: Path, *more: str) -> BookJson:
    """Return what the command tells of the plates in a folder."""
    capsys.readouterr()
    assert main(["book", str(folder), "--json", *more]) == 0
    told: BookJson = json.loads(capsys.readouterr().out)
    return told


def check_shown(page: Page, told: BookJson) -> None:
    """Hold the table against the command: which plates in which order, with mass and mode 5."""
    expect(page.locator("#book-count")).to_contain_text(f"{len(told['plates'])} of {PLATES + 2} plates.")
    names = page.locator("#book tbody th button").all_inner_texts()
    assert names == [plate["name"] for plate in told["plates"]]
    heads = [
        words.replace("\N{NO-BREAK SPACE}", " ") for words in page.locator("#book thead th").all_inner_texts()
    ]
    for figure, head, digits in (("mass", "Mass, g", 1), ("mode5", "Mode 5, Hz", 0)):
        at = next(k for k, words in enumerate(heads) if words.startswith(head))
        cells = page.locator(f"#book tbody tr td:nth-child({at + 1})").all_inner_texts()
        known = [plate["figures"][figure]["value"] for plate in told["plates"]]
        assert [cell.partition("\N{PLUS-MINUS SIGN}")[0] for cell in cells] == [
            f"{v:.{digits}f}" for v in known
        ]


@pytest.mark.slow
def test_plates_alike_their_trend_and_a_file_by_mouse(
    opened: Page, shelf: RunningBench, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    open_task(opened, "Diary")
    opened.get_by_label("All plates").check()
    opened.locator("#draw-up").select_option("mode5")
    opened.locator("#draw-across").select_option("mass")
    opened.locator("#alike").click()
    opened.locator("#show-book").click()
    expect(opened.locator("#book-result img")).to_be_visible()
    like, parent = str(shelf.folder), shelf.folder.parent
    asked = ("--like", like, "--scatter", "mass,mode5")
    told = command(capsys, parent, *asked)
    check_shown(opened, told)
    for words in told["remarks"]:
        expect(opened.locator("#book-result")).to_contain_text(in_page_words(words))
    steps = opened.locator("#book tbody tr td:last-child").all_inner_texts()
    assert steps == [f"{plate['steps']:.1f}" for plate in told["plates"]]
    expect_no_barrier(opened)
    for kind in ("csv", "parquet"):
        opened.locator(f"#book-{kind}").click()
        link = opened.get_by_role("link", name=f"Save book.{kind}")
        with opened.expect_download() as saved:
            link.click()
        path = tmp_path / f"book.{kind}"
        assert main(["book", str(parent), f"--{kind}", str(path), *asked]) == 0
        assert Path(saved.value.path()).read_bytes() == path.read_bytes()
    opened.locator("#alike").click()
    opened.locator("#show-book").click()
    opened.get_by_role("button", name=OTHER).click()
    expect(opened.locator("#subtitle")).to_have_text(str(parent / OTHER))


@pytest.mark.slow
def test_plates_chosen_and_put_in_order_by_keys_alone(
    opened: Page, shelf: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    tab_to(opened, '#tasks a[href="#diary"]')
    opened.keyboard.press("Enter")
    tab_to(opened, '[name="diary-part"]')
    opened.keyboard.press("ArrowLeft")
    tab_to(opened, "#book-role")
    opened.keyboard.press("ArrowDown")
    tab_to(opened, "#least-1")
    opened.keyboard.type("sixty")
    opened.keyboard.press("Enter")
    expect(opened.locator("#book-said")).to_contain_text("mass at least 'sixty'; expected a number.")
    expect_no_barrier(opened)
    opened.keyboard.press("Control+A")
    opened.keyboard.type("60,5")
    opened.keyboard.press("Enter")
    asked = ("--role", "top", "--min", "mass=60.5")
    check_shown(opened, command(capsys, shelf.folder.parent, *asked))
    for more in (("--sort", "mode5"), ("--sort", "mode5", "--descending")):
        tab_to(opened, '[data-sort="mode5"]')
        opened.keyboard.press("Enter")
        way = "descending" if "--descending" in more else "ascending"
        expect(opened.locator(f'#book th[aria-sort="{way}"]')).to_contain_text("Mode 5")
        check_shown(opened, command(capsys, shelf.folder.parent, *asked, *more))


def question(**changed: object) -> BookQuestion:
    usual = {"shelf": "", "words": {}, "ranges": [], "sort": "name", "descending": False}
    return BookQuestion.model_validate(
        {**usual, "across": "", "up": "", "alike": False, "room": ("20", "50"), **changed}
    )


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"room": ("20", "")}, "The room to which they are brought: --humidity is empty"),
        ({"words": {"figures": "x"}}, "figures is no column of words"),
        ({"ranges": [Range(figure="mode5", least="a3", most="")]}, "mode5 at least 'a3'; expected a number"),
        ({"ranges": [Range(figure="weight", least="1", most="")]}, "there is no figure 'weight'"),
        ({"across": "mass", "up": "mass"}, "are the same; expected two"),
        ({"across": "mass", "up": ""}, "The drawing: there is no figure ''"),
    ],
)
def test_what_cannot_be_asked_of_the_book(changed: dict[str, object], words: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=words):
        request_of(question(**changed), tmp_path, None)
