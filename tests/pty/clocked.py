"""The app as ``python -m roundtui`` opens it, on a clock that its test sets.

``python -m tests.pty.clocked STEP ...``: whenever the app looks at its seconds, STEP of them have gone by. How long a
key took on its way through a machine under load then decides nothing. WAIT_SECONDS in its environment is how long it
waits for a store that another process holds.
"""

from __future__ import annotations

import os
import sys
from itertools import count

from roundtui.opening import main
from roundtui.store import db
from roundtui.store.session import Session


def run() -> None:
    """Open the app."""
    step = float(sys.argv.pop(1))
    db.WAIT_SECONDS = float(os.environ.get("WAIT_SECONDS", db.WAIT_SECONDS))
    samples = count(1)
    assert Session.__init__.__kwdefaults__ is not None
    Session.__init__.__kwdefaults__["ticks"] = lambda: next(samples) * step
    main()


if __name__ == "__main__":
    run()
