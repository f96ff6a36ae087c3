"""The shortest way from the command to the first prompt.

Opening the app on a folder is what a scout does every day, often on a slow laptop: parsing that one form here spares it
the command line's library. Everything else, and everything that is not quite plain, is left to ``cli``.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from roundtui.commands import ELSEWHERE, HERE
from roundtui.errors import STOPPED, RoundtuiError


def plain_opening(args: Sequence[str]) -> tuple[Path, str, str] | None:
    """Folder, day and scout of a plain opening of the app.

    Args:
        args: Words of the command line, without the program's.

    Returns:
        None where the words are anything but ``[FOLDER] [--on DATE] [--scout NAME]`` with a folder that is there.
    """
    words = list(args)
    folders: list[str] = []
    options = {"--on": "", "--scout": ""}
    while words:
        word = words.pop(0)
        if word in options and words and not options[word]:
            options[word] = words.pop(0)
        elif word.startswith("-") or folders:
            return None
        else:
            folders.append(word)
    name = folders[0] if folders else "."
    if name in HERE or any(name in names for names in ELSEWHERE.values()) or not Path(name).is_dir():
        return None
    if os.environ.get("TERM") in ("dumb", "unknown") or not any(Path(name).iterdir()):
        return None
    return Path(name), options["--on"], options["--scout"]


def main() -> None:
    """Open the app, or run a command."""
    try:
        asked = None if "_ROUNDTUI_COMPLETE" in os.environ else plain_opening(sys.argv[1:])
        if asked is not None and sys.stdin.isatty():
            folder, on, scout = asked
            from roundtui.domain.text import parse_day

            day = parse_day(on.strip()) if on else None
            if day is not None or not on:
                try:
                    from roundtui.app import run_app

                    sys.exit(run_app(folder, on=day, scout=" ".join(scout.split()) or None))
                except RoundtuiError as error:
                    from roundtui.command_line import say_error

                    say_error(error)
                    sys.exit(1)
        gc.disable()  # What is loaded is no garbage.
        from roundtui.cli import main as commands

        gc.enable()
        commands(prog_name="roundtui")
    except KeyboardInterrupt:  # While it still loads.
        sys.exit(f"\n{STOPPED.message}")
