"""``python -m roundtui``."""

from __future__ import annotations

from roundtui.opening import main

if __name__ == "__main__":
    main()
