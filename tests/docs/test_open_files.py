"""The page of open files says what the export writes."""

from __future__ import annotations

from tests.docs.open_files_page import PAGE, page


def test_the_page_of_open_files_is_up_to_date() -> None:
    """Otherwise: python -m tests.docs.open_files_page."""
    assert page() == PAGE.read_text(encoding="utf-8")
