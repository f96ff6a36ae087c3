"""States of the Season screen, for the pictures: name, keys from the one before, what to look for."""

from __future__ import annotations

from collections.abc import Sequence

SEASON_STATES: Sequence[tuple[str, list[str], str]] = (
    ("season", ["d"], "curve and band, other years as dots, events in one lane, two lines on the round"),
    ("season-moved", ["pagedown"] * 6 + ["p"], "`¦` where a trap moved, the curve broken off at it"),
    (
        "season-doubt",
        ["pageup"] * 4 + ["left"] * 2,
        "`!` at suspect weeks, the line through them, the traps named below",
    ),
    ("biofix", ["e"], "what is proposed and why, its rule, the day in the field"),
    ("temps", ["escape", "d"], "maximum, minimum, unit and day"),
)
