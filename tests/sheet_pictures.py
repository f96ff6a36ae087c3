"""States of the tally sheet for the pictures: keys from one to the next, and what to look for."""

from __future__ import annotations

from collections.abc import Sequence

SHEET_STATES: Sequence[tuple[str, list[str], str]] = (
    ("sheet", ["t"], "rows in the order of the paper, the mark on the first blank one, totals below"),
    (
        "sheet-typed",
        [*"4l", "enter", "0", "enter", *"2o3", "enter", *"xm", "enter", *"400", "enter", "1", "2"],
        "last week's figures, the row typed on with its cursor, `! unlikely`, totals to this row and of all",
    ),
    ("sheet-correct", ["enter", "z", "7"], "what stands beside what is typed, in words"),
    (
        "sheet-second",
        ["escape", "escape", "v", *"4l", "enter", "0", "enter", *"3o3", "enter", *"xm", "enter", *"40", "enter"],
        "`DOUBLE ENTRY, blind` in the bar, nothing of the first, totals of the second alone",
    ),
    ("double-entry", ["m", "1"], "both sides with their names, what differs, how many keys, one key each"),
    ("double-entry-settled", ["2"], "one fewer open, how many were settled and how, who settled"),
)
