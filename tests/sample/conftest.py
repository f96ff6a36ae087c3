"""The sample farm, made ready once for all its tests."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from functools import lru_cache

import pytest

from roundtui.domain.figures.verdicts import Summary
from roundtui.store.connect import open_store
from roundtui.store.demo import Demo
from roundtui.store.figures.summary import summary_of
from roundtui.store.office import read_office
from tests.conftest import ready_demo

NOW = datetime(2025, 7, 15, 18, 0, tzinfo=UTC)
"""Evening of the running day."""


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """A copy of the sample with its set-up loaded and every tally entered, in the order of the rounds."""
    return ready_demo(tmp_path_factory.mktemp("sample") / "farm")


@pytest.fixture(scope="session")
def summary_on(demo: Demo) -> Callable[[str], Summary]:
    """The sample's summary of a day, written as YYYY-MM-DD."""

    @lru_cache
    def of(text: str) -> Summary:
        on = date.fromisoformat(text)
        with closing(open_store(demo.folder, now=NOW)) as conn:
            return summary_of(conn, read_office(demo.folder), on).summary

    return of
