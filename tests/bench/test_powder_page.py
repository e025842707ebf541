"""Powder on the page: what the command says of the same photo, by edge and by places pointed out, and the lines kept."""

import json
from pathlib import Path
from typing import TypedDict

import pytest
from playwright.sync_api import Page, expect

from solver.cli import main
from tests.bench.axe import expect_no_barrier
from tests.bench.conftest import CASE, WAIT_MS, RunningBench, open_task
from tests.measured.powder_subjects import powder_shows, solved
from tests.measured.rendered_photo import Scene, render

pytestmark = pytest.mark.xdist_group("browser")
RING = 4
SCENE = Scene(21, inside=True, turn=160, tilt=10, tilt_towards=80, size=(960, 720))
LONG_MS = 4 * WAIT_MS


class ScoreJson(TypedDict):
    """A mode as ``platewright pattern`` scores it."""

    mode: str | None
    order: int
    score: float
    median_mm: float


class PatternJson(TypedDict):
    """What ``platewright pattern`` tells; not every key is here."""

    best: ScoreJson
    scores: list[ScoreJson]
    partings: list[dict[str, list[float]]]
    lines_csv: str


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A rendered photo of the demonstration top with the ring in powder."""
    path = tmp_path_factory.mktemp("photo") / "ring.jpg"
    plate = solved(CASE)
    render(plate.subject, powder_shows(plate.modes, RING), SCENE).save(path, quality=90)
    return path


def command(capsys: pytest.CaptureFixture[str], folder: Path, photo: Path, *more: str) -> PatternJson:
    """Return what the command tells of a photo."""
    capsys.readouterr()
    assert main(["pattern", str(folder), str(photo), "--json", *more]) == 0
    told: PatternJson = json.loads(capsys.readouterr().out)
    return told


def check_scores(page: Page, told: PatternJson) -> None:
    """Hold the table on the page against the command."""
    first = page.locator("#scores tbody tr").first
    expect(first).to_be_visible(timeout=LONG_MS)
    best = told["best"]
    assert first.locator("th").inner_text() == f"mode {best['mode']}"
    assert float(first.locator("td").nth(1).inner_text()) == pytest.approx(best["score"], abs=0.0051)
    assert float(first.locator("td").nth(2).inner_text()) == best["median_mm"]


def landmarks(page: Page) -> list[str]:
    """The places as they stand in the table, as the command takes them."""
    rows = [
        [field.input_value() for field in row.locator("input").all()]
        for row in page.locator("#landmarks tbody tr").all()
    ]
    return [f"{column},{row}={name}" for name, column, row in rows if column]


@pytest.mark.slow
def test_a_photo_by_mouse_has_the_scores_of_the_command_and_its_lines_are_kept(
    page: Page, bench: RunningBench, photo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = command(capsys, bench.folder, photo)
    open_task(page, "Powder")
    page.locator("#photo").set_input_files(photo)
    check_scores(page, told)
    flat = page.locator("#laid-flat svg").bounding_box()
    assert flat is not None
    assert flat["width"] > 200
    gaps = page.locator("#laid-flat text").all_inner_texts()
    assert len(gaps) == len(told["partings"])
    assert page.locator("#laid-flat .seen-line").count() > 0
    assert page.locator("#laid-flat .computed-line").count() > 0
    expect_no_barrier(page)
    place = page.locator("#laid-flat .seen-line").first
    expect(page.locator("#how-it-lies")).to_have_text("Laid flat as the plan beside it, from the inside.")
    inside = place.bounding_box()
    page.get_by_label("outside", exact=True).check(force=True)
    expect(page.locator("#how-it-lies")).to_have_text("Laid flat as the plan beside it, from the outside.")
    assert place.bounding_box() != inside
    before = landmarks(page)
    assert len(before) >= 4
    dot = page.locator("#pointing .landmark").first
    dot.scroll_into_view_if_needed()
    box = dot.bounding_box()
    assert box is not None
    at = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*at)
    page.mouse.down()
    page.mouse.move(at[0] + 1, at[1] + 1, steps=2)
    page.mouse.up()
    moved = landmarks(page)
    assert moved[0] != before[0]
    assert moved[1:] == before[1:]
    page.locator("#keep-lines").click()
    expect(page.locator("#powder-result .done")).to_contain_text(
        "Kept as photos/ring.jpg and photos/ring-lines.csv."
    )
    check_scores(page, told)
    expect(page.locator("#keep-lines")).to_have_count(0)
    kept = bench.folder / "photos"
    assert (kept / "ring.jpg").read_bytes() == photo.read_bytes()
    assert (kept / "ring-lines.csv").read_bytes() == Path(told["lines_csv"]).read_bytes()


@pytest.mark.slow
def test_places_typed_by_keys_alone_are_read_as_by_the_command(
    page: Page, bench: RunningBench, photo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page.get_by_role("link", name="Powder").focus()
    page.keyboard.press("Enter")
    page.locator("#photo").set_input_files(photo)
    expect(page.locator("#scores")).to_be_visible(timeout=LONG_MS)
    column = page.get_by_label("Column of neck")
    column.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type(f"{float(column.input_value()) + 1.5:.1f}")
    typed = landmarks(page)
    page.locator("#read-again").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#scores")).to_have_count(0)
    more = [part for text in typed for part in ("--landmark", text)]
    check_scores(page, command(capsys, bench.folder, photo, *more))


@pytest.mark.slow
def test_what_is_no_photo_gets_a_sentence(page: Page, tmp_path: Path) -> None:
    open_task(page, "Powder")
    for name, content in {"empty.jpg": b"", "words.png": b"no picture" * 99}.items():
        (tmp_path / name).write_bytes(content)
        page.locator("#photo").set_input_files(tmp_path / name)
        expect(page.locator("#powder-said")).to_contain_text(f"{name}: ", timeout=LONG_MS)
        assert "/" not in page.locator("#powder-said").inner_text()
    expect(page.locator("#scores")).to_have_count(0)
