"""The name a laptop gives itself, and where what belongs to the laptop and not to a folder is kept."""

from __future__ import annotations

import os
import platform
from pathlib import Path

from roundtui.domain.plain import plain

_LONGEST = 40


def state_folder() -> Path:
    """Folder for what belongs to this laptop and person; it may not exist yet.

    Returns:
        After the XDG Base Directory Specification, or the usual place on Windows.
    """
    given = os.environ.get("XDG_STATE_HOME", "")
    if given and Path(given).is_absolute():
        return Path(given) / "roundtui"
    local = os.environ.get("LOCALAPPDATA", "")
    if local:
        return Path(local) / "roundtui"
    try:
        return Path.home() / ".local" / "state" / "roundtui"
    except RuntimeError:
        return Path(os.devnull) / "roundtui"


def device_name() -> str:
    """Name of this laptop, the same for good once it was given.

    It is kept beside the person's other state and not in the store, since a store can be copied to another laptop.

    Returns:
        The host's name on the first call ever; where nothing can be kept, the host's name every time.
    """
    path = state_folder() / "device"
    try:
        kept = plain(path.read_text(encoding="utf-8").strip(), _LONGEST)
    except (OSError, ValueError):
        kept = ""
    if kept:
        return kept
    name = plain(platform.node().strip(), _LONGEST) or "laptop"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{name}\n", encoding="utf-8")
    except (OSError, ValueError):
        pass
    return name
