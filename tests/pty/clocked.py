"""The app as ``python -m roundtui`` opens it, on a clock that its test sets.

``python -m tests.pty.clocked STEP ...``: whenever the app looks at its seconds, STEP of them have gone by. How long a
key took on its way through a machine under load then decides nothing.
"""

from __future__ import annotations

import sys
from itertools import count

from roundtui.opening import main
from roundtui.store.session import Session


def run() -> None:
    """Open the app."""
    step = float(sys.argv.pop(1))
    samples = count(1)
    assert Session.__init__.__kwdefaults__ is not None
    Session.__init__.__kwdefaults__["ticks"] = lambda: next(samples) * step
    main()


if __name__ == "__main__":
    run()
