"""``python -m roundtui``."""

from __future__ import annotations

from roundtui.cli import main

if __name__ == "__main__":
    main(prog_name="roundtui")
