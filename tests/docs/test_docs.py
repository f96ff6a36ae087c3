"""The docs say what the program does, or a test fails."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.docs.commands_page import PAGE, page

ROOT = Path(__file__).parents[2]
DOCS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


def test_the_page_of_commands_is_up_to_date() -> None:
    """Otherwise: python -m tests.docs.commands_page."""
    assert page() == PAGE.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", DOCS, ids=lambda path: path.name)
def test_every_link_leads_somewhere(path: Path) -> None:
    for target in re.findall(r"\]\((?!https?:|mailto:)([^)#\s]+)", path.read_text(encoding="utf-8")):
        assert (path.parent / target).exists(), f"{path.name} links to {target}"


def test_the_readme_and_the_checks_run_one_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    checks = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert ".venv/bin/python -m pytest\n" in readme
    assert "python -m pytest\n" in checks


def test_every_picture_in_docs_is_shown_on_a_page() -> None:
    shown = "".join(path.read_text(encoding="utf-8") for path in DOCS)
    for picture in (ROOT / "docs" / "pictures").iterdir():
        assert picture.name in shown, f"{picture.name} stands on no page"
