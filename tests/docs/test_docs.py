"""The docs say what the program does, or a test fails."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.docs import errors_page, words
from tests.docs.commands_page import PAGE, page
from tests.docs.words import MOST, PAGES, ROOT

PACKAGE_PAGES = sorted((ROOT / "roundtui").rglob("README.md"))


def test_the_page_of_commands_is_up_to_date() -> None:
    """Otherwise: python -m tests.docs.commands_page."""
    assert page() == PAGE.read_text(encoding="utf-8")


def headings(path: Path) -> set[str]:
    """Anchors of a page: its headings in lower case, punctuation out, blanks as dashes."""
    titles = re.findall(r"^#+ (.*)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


@pytest.mark.parametrize("path", [*PAGES, *PACKAGE_PAGES], ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_leads_somewhere(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for target, anchor in re.findall(r"\]\((?!https?:|mailto:)([^)#\s]*)#?([^)\s]*)\)", text):
        to = path.parent / target if target else path
        assert to.exists(), f"{path.name} links to {target}"
        assert not anchor or anchor in headings(to), f"{path.name} links to {target}#{anchor}"


@pytest.mark.parametrize("path", [*PAGES, *PACKAGE_PAGES], ids=lambda path: str(path.relative_to(ROOT)))
def test_every_file_of_the_code_that_is_named_exists(path: Path) -> None:
    named = re.findall(r"`((?:roundtui|domain|tests|sample_farm|docs)/[\w./]+)`", path.read_text(encoding="utf-8"))
    for name in named:
        assert (ROOT / name).exists() or (ROOT / "roundtui" / name).exists(), f"{path.name} names {name}"


def test_the_page_of_errors_is_up_to_date() -> None:
    """Otherwise: python -m tests.docs.errors_page."""
    assert errors_page.page() == errors_page.PAGE.read_text(encoding="utf-8")


def test_the_pages_keep_to_the_limit_of_words() -> None:
    assert sum(map(words.words, PAGES)) <= MOST


def test_words_of_sources_and_of_generated_parts_are_not_counted(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    parts = {
        "four words of prose\n": 4,
        "| species | hang | source |\n| --- | --- | --- |\n| CM | pink | Ontario |\n\n": 0,
        "| word | meaning |\n| --- | --- |\n| few traps | under three |\n\n": 6,
        "<!-- bench: made by x.py -->\n| a | b |\n<!-- bench: end -->\n": 0,
    }
    page.write_text("".join(parts), encoding="utf-8")
    assert words.words(page) == sum(parts.values())
    page.write_text("# Keys\n\nThis page is made from `keys.py`.\n", encoding="utf-8")
    assert words.words(page) == 0


@pytest.mark.parametrize("path", PACKAGE_PAGES, ids=lambda path: path.parent.name)
def test_the_page_of_a_package_is_one_screen(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 50


def test_the_readme_and_the_checks_run_one_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    checks = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert ".venv/bin/python -m pytest\n" in readme
    assert "python -m pytest\n" in checks


def test_every_picture_of_a_screen_shows_it() -> None:
    for picture in (ROOT / "docs" / "pictures").glob("*-80x24-dark.svg"):
        assert picture.read_text(encoding="utf-8").count("<text") > 20, f"{picture.name} is empty"


def test_every_picture_in_docs_is_shown_on_a_page() -> None:
    shown = "".join(path.read_text(encoding="utf-8") for path in PAGES)
    for picture in (ROOT / "docs" / "pictures").iterdir():
        assert picture.name in shown, f"{picture.name} stands on no page"
