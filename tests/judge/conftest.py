"""The sample farm for the judges."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import ready_demo


@pytest.fixture(scope="session")
def sample_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scouting folder with the sample's set-up loaded and every tally entered."""
    return ready_demo(tmp_path_factory.mktemp("judged") / "farm").folder
