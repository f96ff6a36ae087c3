"""Pages in a real browser: no error, nothing asked from outside, on two pages of A4 and Letter, open to everybody."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from roundtui.report.letters.compose import compose
from roundtui.report.letters.material import Material
from roundtui.report.letters.template import Templates, letter_html
from roundtui.report.letters.update import compose_update, read_area, update_page
from roundtui.report.season.season_end import season_end_page
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.season.years import YearsRecord
from tests.report.letters.conftest import NOW, ON

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine: apt-get install chromium"),
    pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="no pdfinfo: apt-get install poppler-utils"),
]
NOTE = "We walked both rounds this week.\nThe north block is dry now; bring boots all the same."
PAGES = ("DUSK", "FENN", "LARK", "MOSS", "PELL", "update", "season-end")
MOST_PAGES = 2


@pytest.fixture(scope="module")
def pages(
    material_of: Callable[[date], Material], sample: Path, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Path]:
    """The letter of each farm and the update, each as a file."""
    folder, templates = tmp_path_factory.mktemp("pages"), Templates()
    material = material_of(ON)
    contents = {farm: letter_html(compose(material, farm, note=NOTE), templates) for farm in material.farms}
    with closing(open_folder(sample, now=NOW).conn) as conn:
        area = read_area(conn, sample, ON, read_office(sample))
        contents["season-end"] = _season_end(conn, sample, templates)
    contents["update"] = update_page(compose_update(area, note=NOTE), templates, "html")
    found = {}
    for name, content in contents.items():
        found[name] = folder / f"{name}.html"
        found[name].write_text(content, encoding="utf-8")
    return found


def _season_end(conn: sqlite3.Connection, sample: Path, templates: Templates) -> str:
    """The programme's last whole season."""
    years = YearsRecord(conn, sample, ON, read_office(sample)).ending(ON.year - 1)
    (end,) = years.ends([""])
    return season_end_page(end, years.now.programme, templates, "html")


@pytest.fixture(scope="module")
def tab() -> Iterator[Any]:
    """One tab of one browser, in which scripts are compiled once; it is the system's, none is fetched."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield browser.new_page()
        browser.close()


@pytest.fixture
def page(tab: Any) -> Any:
    """That tab as it is on a screen."""
    tab.emulate_media(media="screen")
    tab.set_viewport_size({"width": 1280, "height": 720})
    return tab


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_whole_quiet_open_to_everybody_and_fits_its_paper(
    page: Any, pages: dict[str, Path], name: str, tmp_path: Path
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(pages[name].as_uri())
    assert said == []
    assert asked == [pages[name].as_uri()]
    violations = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in violations] == []
    for paper, width_mm in (("A4", 210), ("Letter", 216)):
        page.emulate_media(media="print")
        # What is left between the margins, at 96 pixels an inch.
        page.set_viewport_size({"width": int((width_mm - 26) / 25.4 * 96), "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        printed = tmp_path / f"{paper}.pdf"
        page.pdf(path=str(printed), format=paper, prefer_css_page_size=False)
        assert 1 <= sheets(printed) <= MOST_PAGES


def test_on_a_phone_nothing_runs_off_the_right_edge_and_a_block_is_a_card(page: Any, pages: dict[str, Path]) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    for name in ("PELL", "update"):
        page.goto(pages[name].as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        far = "[...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > 390.5).length"
        assert page.evaluate(far) == 0
        assert page.evaluate("Math.min(...[...document.querySelectorAll('.curves svg')].map(e => e.clientWidth))") > 340
    page.goto(pages["PELL"].as_uri())
    card = page.locator(".cards tbody").first.inner_text()
    assert all(word in card for word in ("GATE", "Codling moth", "5.0", "over threshold", "3 of 3"))
    years = page.locator(".years table")
    assert not years.is_visible()
    page.locator("#show-years").check()
    assert years.is_visible()


def sheets(path: Path) -> int:
    notified = subprocess.run(["pdfinfo", str(path)], check=True, capture_output=True, text=True).stdout
    return next(int(line.split()[1]) for line in notified.splitlines() if line.startswith("Pages:"))


def test_a_page_says_by_mark_and_word_what_it_says_by_shade(page: Any, pages: dict[str, Path]) -> None:
    page.goto(pages["PELL"].as_uri())
    words = page.locator("figure svg").first.text_content()
    assert "▲ GATE" in words
    assert "over threshold" in words
    names = page.locator("figure svg > title").all_text_contents()
    assert len(names) == len(set(names)) >= 4
    assert all(page.locator("figure svg > desc").all_text_contents())
