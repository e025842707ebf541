"""Top and back on the page: the command's table for the same two plates, by mouse and by keys."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TypedDict

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.bench.page_words import in_page_words
from solver.bench.pair_question import TypedRelation, typed_relations
from solver.cli import main
from solver.commands.pair_answer import NOT_JUDGED
from solver.core.errors import InputError
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import CASE, WAIT_MS, RunningBench, bench_on, open_task, tab_to, window

pytestmark = pytest.mark.xdist_group("browser")
BACK = "violin-back-walnut"
LONG_MS = 4 * WAIT_MS


class IntervalJson(TypedDict):
    """Two tones as ``platewright pair`` tells of them."""

    top_hz: float
    back_hz: float
    in_words: str


class PairedJson(IntervalJson):
    """A mode of both plates."""

    mode: str
    heard: bool
    computed: IntervalJson


class MemberJson(TypedDict):
    """A plate of the pair."""

    mass_g: float


class RelationJson(TypedDict):
    """Whether a relation holds."""

    mode: str
    holds: bool
    in_words: str


class WayJson(TypedDict):
    """What thinning one plate does."""

    thin: str
    in_words: str


class PairJson(TypedDict):
    """What ``platewright pair`` tells; not every key is here."""

    modes: list[PairedJson]
    top: MemberJson
    back: MemberJson
    relations: list[RelationJson]
    ways: list[WayJson]


@pytest.fixture(scope="module")
def top(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBench]:
    place = tmp_path_factory.mktemp("pair")
    with bench_on(place, place / "state", CASE, BACK) as running:
        yield running


@pytest.fixture
def paired(top: RunningBench, browser: Browser) -> Iterator[Page]:
    with window(browser, top) as page:
        expect(page.locator("#tasks")).to_be_visible()
        yield page


def command(capsys: pytest.CaptureFixture[str], top: Path, *more: str) -> PairJson:
    """Return what the command tells of the two plates."""
    capsys.readouterr()
    assert main(["pair", str(top), str(top.parent / BACK), "--json", *more]) == 0
    told: PairJson = json.loads(capsys.readouterr().out)
    return told


def check_shown(page: Page, told: PairJson) -> None:
    """Hold the page against the command: every row of the table, masses, relations and ways."""
    expect(page.locator("#pair-modes")).to_be_visible(timeout=LONG_MS)
    rows = [[cell.strip() for cell in row] for row in _cells(page)]
    wanted = []
    for mode in told["modes"]:
        tones: list[tuple[str, IntervalJson]] = [("heard", mode)] if mode["heard"] else []
        for by, tone in (*tones, ("computed", mode["computed"])):
            wanted.append([by, f"{tone['top_hz']:.1f}", f"{tone['back_hz']:.1f}", tone["in_words"]])
    assert [[row[1], row[2], row[3], row[5]] for row in rows[: len(wanted)]] == wanted
    assert rows[-1][1:4] == ["computed", f"{told['top']['mass_g']:.1f}", f"{told['back']['mass_g']:.1f}"]
    if not told["relations"]:
        expect(page.locator("#pair-result")).to_contain_text(in_page_words(NOT_JUDGED))
    for said in (*told["relations"], *told["ways"]):
        expect(page.locator("#pair-result")).to_contain_text(in_page_words(said["in_words"]))


def _cells(page: Page) -> list[list[str]]:
    rows = page.locator("#pair-modes tbody tr").all()
    return [row.locator("th, td").all_inner_texts() for row in rows]


@pytest.mark.slow
def test_a_pair_by_mouse_is_that_of_the_command(
    paired: Page, top: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    open_task(paired, "Diary")
    paired.get_by_label("Top and back").check()
    beside = paired.locator("#pair-other option", has_text=BACK)
    # of the two that are known, the one beside it stands for the demonstration's
    expect(beside).to_have_count(1)
    paired.locator("#compare").click()
    paired.locator("#pair-work").get_by_role("button", name="Stop").click()
    expect(paired.locator("#pair-said")).to_have_text("Stopped.")
    expect(paired.locator("#pair-work")).to_be_hidden()
    expect(paired.locator("#pair-modes")).to_have_count(0)
    paired.locator("#compare").click()
    check_shown(paired, command(capsys, top.folder))
    drawn = paired.locator("#pair-result img").evaluate(
        "image => image.decode().then(() => image.naturalWidth)"
    )
    assert drawn > 300
    expect_no_barrier(paired)


@pytest.mark.slow
def test_a_relation_and_a_room_by_keys_alone(
    paired: Page, top: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    tab_to(paired, '#tasks a[href="#diary"]')
    paired.keyboard.press("Enter")
    tab_to(paired, '[name="diary-part"]')
    paired.keyboard.press("ArrowRight")
    tab_to(paired, "#relation-mode-1")
    paired.keyboard.type("7")
    tab_to(paired, "#compare")
    paired.keyboard.press("Enter")
    said = paired.locator("#pair-said")
    expect(said).to_contain_text("Relation of mode 7: it has no beginning; expected an interval")
    back_to(paired, "#relation-low-1")
    paired.keyboard.type("tone")
    paired.keyboard.press("Enter")
    expect(said).to_contain_text("Relation: mode 7 was not found", timeout=LONG_MS)
    back_to(paired, "#relation-mode-1")
    paired.keyboard.type("2")
    tab_to(paired, "#relation-low-1")
    paired.keyboard.type("same")
    tab_to(paired, "#another-relation")
    paired.keyboard.press("Enter")
    back_to(paired, "#relation-mode-2")
    for field, words in (("mode-2", "5"), ("low-2", "-50"), ("high-2", "+50,0")):
        tab_to(paired, f"#relation-{field}")
        paired.keyboard.type(words)
    for field, words in (("warm", "18,5"), ("damp", "60")):
        tab_to(paired, f"#pair-{field}")
        paired.keyboard.type(words)
    paired.keyboard.press("Enter")
    asked = ("--relation", "2=same", "--relation", "5=-50..+50", "--to", "18.5,60")
    check_shown(paired, command(capsys, top.folder, *asked))
    expect(paired.locator("#pair-modes caption")).to_contain_text("18.5 \N{DEGREE SIGN}C and 60 %")


def back_to(page: Page, selector: str) -> None:
    """Go back to an element by the key that goes from one to the one before, and by that alone."""
    tab_to(page, selector, "Shift+Tab")


def typed(*lines: tuple[str, str, str]) -> list[tuple[str, float, float]]:
    """Return what the lines of the form mean: mode, and cents from and to."""
    wanted = [TypedRelation(mode=mode, low=low, high=high) for mode, low, high in lines]
    return [(one.mode, one.low, one.high) for one in typed_relations(wanted)]


def test_what_is_typed_of_relations_is_read_as_by_the_command() -> None:
    assert typed(("5", " Semitone ", "tone"), ("", "", ""), ("2", "-12,5", "")) == [
        ("5", 100.0, 200.0),
        ("2", -12.5, -12.5),
    ]
    assert typed(("1", "minor third", "")) == [("1", 300.0, 300.0)]


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (
            [("", "tone", "")],
            "Relation from 'tone': it has no mode; expected one. Choose which mode is meant.",
        ),
        ([("5", "", "tone")], "Relation of mode 5: it has no beginning; expected an interval"),
        (
            [("5", "a bit", "tone")],
            "Relation of mode 5: 'a bit' is no interval; expected same, semitone, tone ...",
        ),
        ([("5", "tone", "semitone")], "from 'tone' to 'semitone'; expected LOW below HIGH."),
        ([("5", "1300", "")], "expected within an octave, -1200 to 1200 cents."),
        ([("5", "same", ""), ("5", "tone", "")], "mode 5"),
    ],
)
def test_what_is_no_relation_is_refused_by_a_sentence(
    lines: list[tuple[str, str, str]], sentence: str
) -> None:
    with pytest.raises(InputError) as refused:
        typed(*lines)
    assert sentence in str(refused.value)
