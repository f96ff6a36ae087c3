"""What is looked at on every start names every set-up file."""

from __future__ import annotations

from roundtui.store.columns import FILES
from roundtui.store.newer import FILE_NAMES


def test_every_set_up_file_is_looked_at() -> None:
    assert tuple(file.name for file in FILES) == FILE_NAMES
