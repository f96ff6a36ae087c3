"""The app with a fault of its own: it fails as soon as an entry is to be shown."""

from __future__ import annotations

from roundtui.app.screens.walk import view
from tests.pty import clocked


def run() -> None:
    """Open the app."""
    good = view.before

    def before(visit, *more, **named):  # type: ignore[no-untyped-def]
        if visit is not None:
            raise ZeroDivisionError("a fault of its own")
        return good(visit, *more, **named)

    view.before = before
    clocked.run()


if __name__ == "__main__":
    run()
