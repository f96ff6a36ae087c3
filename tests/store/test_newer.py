"""What is looked at on every start names every set-up file."""

from __future__ import annotations

from roundtui.store.office import FILE_NAMES
from roundtui.store.season.weather_load import WEATHER
from roundtui.store.set_up.columns import FILES


def test_every_set_up_file_is_looked_at() -> None:
    assert (*(file.name for file in FILES), WEATHER) == FILE_NAMES
