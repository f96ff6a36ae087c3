"""This laptop: its name, ids of entries, and the lanes it writes on, every entry with the digest of the one before.

A lane is a laptop's id, a folder's id and a running number. The laptop's id lies with the person's other state, the
folder's beside the store, so that neither comes along when a store is copied. A copy of a folder, a restored backup and
an import open a lane of their own, and no two lines of entries ever share one.
"""

from __future__ import annotations

import json
import os
import platform
import re
import sqlite3
import threading
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path

from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store.failures import Store
from roundtui.store.files import regular, write_whole

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
    return _own("device", ".+", sanitize(platform.node().strip(), _LONGEST) or "laptop")


def _own(file: str, pattern: str, made: str) -> str:
    """What a file of the person's state holds; it is made where it holds nothing of the kind."""
    path = state_folder() / file
    try:
        kept = sanitize(path.read_text(encoding="utf-8").strip(), _LONGEST)
    except (OSError, ValueError):
        kept = ""
    if re.fullmatch(pattern, kept):
        return kept
    with suppress(StoreError):
        write_whole(path, f"{made}\n")
    return made


@cache
def _of_this_run(place: Path) -> str:  # noqa: ARG001
    return os.urandom(6).hex()


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


FOLDER_FILE = "roundtui.folder"
"""Name of the file beside the store that holds the folder's id and how many lanes were opened in it."""
NAME = re.compile(r"[0-9a-f]{12}\.[0-9a-f]{12}\.[1-9][0-9]{0,5}")
"""What the name of a lane looks like: folder, laptop, running number."""
HUB = "hub"
"""Setting of a folder that meets others at a hub: what it saw there and sent there. It may hold lanes in part only."""
_ID = re.compile(r"[0-9a-f]{12}")


@dataclass(slots=True)
class OwnLane:
    """The lane that a store writes on now, and its end."""

    lane: int
    """Its number in the store."""
    name: str
    """Its name."""
    no: int
    """Number of its newest entry; 0 where it has none."""
    digest: bytes
    """Digest of that entry."""


def laptop_id() -> str:
    """Id of this laptop and person, the same for good; where nothing can be kept, one for this run of the program."""
    return _own("laptop-id", _ID.pattern, _of_this_run(state_folder()))


def lane_name(folder: Path | None) -> str:
    """Name of the lane that a folder writes on now.

    Args:
        folder: The scouting folder; None for one whose store is not in its place yet.

    Raises:
        StoreError: The ids cannot be kept.
    """
    folder_id, number = (os.urandom(6).hex(), 1) if folder is None else _folder(folder)
    return f"{folder_id}.{laptop_id()}.{number}"


def pair_of(name: str) -> str:
    """Folder and laptop of a lane, without its running number."""
    return name.rpartition(".")[0]


def open_next_lane(conn: sqlite3.Connection | None, folder: Path | None) -> None:
    """Write on a lane of its own from now on: after a backup was put in place, or where the old one went on elsewhere.

    Args:
        conn: The store, where it is open.
        folder: The scouting folder.
    """
    if folder is not None:
        folder_id, number = _folder(folder)
        keep(folder, folder_id, number + 1)
    if isinstance(conn, Store):
        conn.lane = ""


def own_lane_name(conn: sqlite3.Connection) -> str:
    """Name of the lane that this store writes on.

    Args:
        conn: The store.
    """
    if not isinstance(conn, Store):
        return lane_name(None)
    if not conn.lane:
        conn.lane = lane_name(conn.path.parent if conn.file else None)
    return conn.lane


def own_lane(conn: sqlite3.Connection) -> OwnLane:
    """The lane that this store writes on, as it ends now.

    Args:
        conn: The store, inside the transaction that adds entries.
    """
    name = own_lane_name(conn)
    found = (
        conn.execute("SELECT lane, last_no, last_digest FROM lanes WHERE name = ?", (name,)).fetchone()
        or conn.execute("INSERT INTO lanes (name) VALUES (?) RETURNING lane, last_no, last_digest", (name,)).fetchone()
    )
    return OwnLane(found[0], name, found[1], found[2])


def keep_end(conn: sqlite3.Connection, lane: OwnLane, label: str) -> None:
    """Keep where a lane ends.

    Args:
        conn: The store, inside the transaction that added entries.
        lane: The lane.
        label: Name of the laptop, as people know it.
    """
    conn.execute(
        "UPDATE lanes SET last_no = ?, last_digest = ?, label = ? WHERE lane = ?",
        (lane.no, lane.digest, label, lane.lane),
    )


def lane_names(conn: sqlite3.Connection) -> dict[int, str]:
    """Names of the lanes, by their number in the store."""
    return dict(conn.execute("SELECT lane, name FROM lanes"))


def lane_ends(conn: sqlite3.Connection) -> dict[str, int]:
    """Number of the newest entry of each lane, by name."""
    return dict(conn.execute("SELECT name, last_no FROM lanes WHERE last_no > 0"))


def _folder(folder: Path) -> tuple[str, int]:
    """Id of a folder and number of its lane; a copy of it stands elsewhere on the disk and gets an id of its own."""
    try:
        kept = json.loads(regular(folder / FOLDER_FILE).read_text(encoding="utf-8"))
        folder_id, number, place = kept["folder"], kept["lane"], kept["place"]
    except (OSError, ValueError, KeyError, TypeError):
        folder_id, number, place = "", 1, ""
    if isinstance(folder_id, str) and _ID.fullmatch(folder_id) and isinstance(number, int) and place == _place(folder):
        return folder_id, max(1, min(number, 999_999))
    made = os.urandom(6).hex()
    keep(folder, made, 1)
    return made, 1


def _place(folder: Path) -> str:
    stat = folder.stat()
    return f"{stat.st_dev}-{stat.st_ino}"


def keep(folder: Path, folder_id: str, number: int) -> None:
    """Keep the id of a folder and the number of its lane beside the store.

    Args:
        folder: The scouting folder.
        folder_id: Its id.
        number: How many lanes were opened in it.

    Raises:
        StoreError: They cannot be kept.
    """
    text = json.dumps({"folder": folder_id, "lane": number, "place": _place(folder)})
    write_whole(folder / FOLDER_FILE, f"{text}\n")
