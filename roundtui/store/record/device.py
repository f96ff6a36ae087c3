"""The name a laptop gives itself, and where what belongs to the laptop and not to a folder is kept.

Ids of entries: universal, and in the order of time, so that two laptops never give the same one.
"""

from __future__ import annotations

import os
import platform
import threading
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store.files import write_whole

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
        kept = sanitize(path.read_text(encoding="utf-8").strip(), _LONGEST)
    except (OSError, ValueError):
        kept = ""
    if kept:
        return kept
    name = sanitize(platform.node().strip(), _LONGEST) or "laptop"
    with suppress(StoreError):
        write_whole(path, f"{name}\n")
    return name


_RANDOM_BITS = 74
_lock = threading.Lock()
_last_ms = 0
_last_random = 0


def new_id(now: datetime) -> str:
    """A universal id of version 7 (RFC 9562, section 5.7), later than every one given before in this process.

    Args:
        now: Instant of recording; where the clock was set back, the ids go on from the latest instant.
    """
    return new_ids(now, 1)[0]


def new_ids(now: datetime, number: int) -> list[str]:
    """Universal ids, each as ``new_id`` gives it.

    Args:
        now: Instant of recording.
        number: How many.
    """
    global _last_ms, _last_random  # noqa: PLW0603
    found = []
    with _lock:
        now_ms = int(now.timestamp() * 1000)
        steps = memoryview(os.urandom(2 * number)).cast("H")
        for step in steps:
            if now_ms > _last_ms or (_last_random + 1 + step) >> _RANDOM_BITS:
                # The top bit stays free, so that counting up within a millisecond has room.
                _last_ms = max(now_ms, _last_ms + 1)
                _last_random = int.from_bytes(os.urandom(10), "big") & ((1 << _RANDOM_BITS - 1) - 1)
            else:
                _last_random += 1 + step
            high, low = _last_random >> 62, _last_random & ((1 << 62) - 1)
            text = f"{(_last_ms & ((1 << 48) - 1)) << 80 | 0x7 << 76 | high << 64 | 0b10 << 62 | low:032x}"
            found.append(f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}")
    return found
