"""What is looked at on every start names every set-up file."""

from __future__ import annotations

from roundtui.store.newer import FILE_NAMES
from roundtui.store.set_up.columns import FILES
from roundtui.store.weather.load import WEATHER


def test_every_set_up_file_is_looked_at() -> None:
    assert (*(file.name for file in FILES), WEATHER) == FILE_NAMES
