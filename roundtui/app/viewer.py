"""Opens a file in the system's own viewer, without a word on this terminal."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from shutil import which

from roundtui.errors import RoundtuiError


def open_in_viewer(path: Path) -> None:
    """Ask the system to show a file; this does not wait for it.

    Args:
        path: The file.

    Raises:
        RoundtuiError: The system has no viewer.
    """
    hint = f"open it by hand: {path}"
    if sys.platform == "win32":
        import os

        os.startfile(path)  # noqa: S606 - a file that was just written here
        return
    command = which("open" if sys.platform == "darwin" else "xdg-open")
    if command is None:
        raise RoundtuiError("this system has no viewer for pages", hint)
    try:
        # A viewer that talks would write over the screen.
        subprocess.Popen(  # noqa: S603 - the system's own opener, with a file that was just written here
            [command, str(path.resolve())],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError as error:
        raise RoundtuiError(f"the viewer cannot be started: {error.strerror}", hint) from error
