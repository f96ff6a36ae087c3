"""What is left behind when the app fails: a report in the folder, and plain words."""

from __future__ import annotations

import platform
import sys
import traceback
from datetime import datetime
from pathlib import Path

from roundtui.errors import ExitCode, StoreError
from roundtui.store.files import write_whole


def write_report(folder: Path, error: BaseException, now: datetime) -> Path | None:
    """Write down a failure for whoever is to mend it.

    Args:
        folder: The scouting folder.
        error: What happened.
        now: Instant.

    Returns:
        The report; None where it could not be written either.
    """
    from roundtui import __version__

    path = folder / f"roundtui-report-{now:%Y%m%d-%H%M%S}.txt"
    lines = [f"roundtui {__version__}, Python {platform.python_version()}, {platform.system()}", now.isoformat(), ""]
    try:
        write_whole(path, "\n".join(lines) + "".join(traceback.format_exception(error)))
    except StoreError:
        return None
    return path


def say_crashed(report: Path | None) -> int:
    """Say in plain words that the app failed, and what became of the entries.

    Args:
        report: Where it is written down; None where it is not.

    Returns:
        The exit code.
    """
    sys.stderr.write("roundtui stopped by a fault of its own. Everything entered is on the disk.\n")
    sys.stderr.write(f"What happened is in {report}: send it along.\n" if report else "No report could be written.\n")
    return ExitCode.PROBLEM
