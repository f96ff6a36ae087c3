"""The terminal app. See the README beside this file."""

from __future__ import annotations

from datetime import date
from pathlib import Path


def run_app(folder: Path, *, on: date | None = None, scout: str | None = None) -> int:
    """Open the app on a scouting folder; see ``app.app.run_app``."""
    import gc

    # What is loaded at the start is never garbage: going through it again and again takes a tenth of the time to the
    # first prompt, measured. The app turns the collector on when its first screen stands.
    gc.disable()
    try:
        from roundtui.app.app import run_app as run

        return run(folder, on=on, scout=scout)
    finally:
        gc.enable()
