"""The plug pulled at 50 random moments of a round, or at as many as are named, in a real terminal.

``python -m tests.long.pulled_plug [MOMENTS [SEED]]``; the suite takes 8 of them.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from random import Random

from tests.app.folder import last_week, open_session, write_folder
from tests.pty.test_pulled_plug import kill_again_and_again


def run(moments: int = 50, seed: int = 1) -> None:
    """Kill, open again and compare; stops at the first count that is missing or there twice."""
    # What a killed app left running may still write.
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place:
        folder = write_folder(Path(place) / "farm")
        session = open_session(folder)
        last_week(session)
        session.conn.close()
        most = kill_again_and_again(folder, Path(place) / "fresh", Random(seed), moments)
    print(
        f"{moments} kills (seed {seed}): every count whose next prompt had shown was on the disk, once; {most} at most"
    )


if __name__ == "__main__":
    run(*map(int, sys.argv[1:]))
