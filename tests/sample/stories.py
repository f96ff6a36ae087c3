"""Stories planted in the sample: entries written by hand over what the generator would have made.

Each key is a trap and the day of a round; each value says which columns of the tally are to differ. ABOUT.txt tells the
stories; the tests work them out by hand.
"""

from __future__ import annotations

from datetime import date

Row = dict[str, str]


def _on(day: str, **rows: Row) -> dict[tuple[str, date], Row]:
    return {(trap, date.fromisoformat(day)): row for trap, row in rows.items()}


def _counts(day: str, **counts: int) -> dict[tuple[str, date], Row]:
    return _on(day, **{trap: {"count": str(count)} for trap, count in counts.items()})


STORIES: dict[tuple[str, date], Row] = {
    # 2023: a trap gone, hung anew at once.
    **_on(
        "2023-06-19",
        M6={
            "no_reading": "missing",
            "body": "yes",
            "liner": "yes",
            "lure": "yes",
            "note": "gone; new trap in its place",
        },
    ),
    # 2024: a leafroller lure in a codling moth trap for two weeks. Its body is used again in 2025.
    **_on("2024-07-09", T2={"count": "3", "lure": "OBLR24A"}),
    **_on("2024-07-16", T2={"count": "0", "others": "7", "note": "leafrollers in it"}),
    **_on("2024-07-23", T2={"count": "0", "lure": "CM24A", "others": "9", "note": "wrong lure, corrected"}),
    # 2025, north. K2 is served late on purpose; L1 fills its liner.
    **_on("2025-05-27", K2={"count": "4", "lure": "CM25A"}),
    **_on("2025-06-03", K2={"lure": ""}),
    **_on("2025-06-10", K5={"note": "read, then moved to row 19"}),
    **_on("2025-06-17", L1={"count": "7", "liner": "yes"}),
    **_on("2025-06-24", L1={"count": "11", "liner": ""}),
    **_on("2025-07-01", L1={"count": "12", "liner": ""}, T4={"count": "0"}, T5={"count": "0"}),
    **_counts("2025-07-08", K1=3, K3=5, L2=1, L3=2, O1=2, O2=3, O3=4, T1=3, T3=2, T4=1, T5=2),
    **_on(
        "2025-07-08", K2={"count": "4", "lure": ""}, L1={"count": "9", "liner": ""}, T2={"count": "0", "others": "4"}
    ),
    # 2025, south. A pair of lures swapped; a wrong lure put in and not seen.
    **_on("2025-06-16", R3={"count": "4", "lure": "CM25A"}),
    **_on("2025-06-30", R2={"count": "3", "lure": "OFM25A"}, R4={"count": "4", "lure": "CM25A"}),
    **_counts("2025-07-07", R1=1, R2=0, R3=0, R4=0),
    **_counts("2025-07-14", R1=2, R2=0, R4=0),
    **_on(
        "2025-07-14",
        R3={"count": "0", "lure_found": "OBLR25A", "others": "6", "note": "no right lure left in the truck"},
    ),
    # Exactly five: 8 moths in 7 days, 10 in 12, 1 in 6.
    **_counts("2025-06-23", G1=4, G2=5, G3=3),
    **_on("2025-06-30", G1={"count": "6"}, G2={"no_reading": "skipped"}, G3={"count": "2"}),
    **_on("2025-07-07", G1={"count": "5"}, G2={"no_reading": "closed"}, G3={"no_reading": "skipped"}),
    **_counts("2025-07-14", G1=8, G2=10, G3=1),
    # A zero too many.
    **_counts("2025-07-07", G4=4, G5=9, G6=6),
    **_counts("2025-07-14", G4=5, G5=120, G6=7),
    # Over the band; a liner full; moths left in; an edge trap beside the figure.
    **_on("2025-06-23", M1={"count": "10", "liner": "yes"}),
    **_on("2025-06-30", M1={"count": "11", "liner": ""}),
    **_on(
        "2025-07-07",
        M1={"count": "12", "liner": ""},
        M2={"count": "6", "cleared": "no", "liner": "", "lure": "", "note": "no time to clear, thunder"},
        M3={"count": "9"},
        M4={"count": "17"},
    ),
    **_on(
        "2025-07-14",
        M1={"count": "9", "liner": ""},
        M2={"count": "13"},
        M3={"count": "8"},
        M4={"count": "20", "estimated": "yes"},
    ),
    # Mating disruption, nothing caught, and worms.
    **_on("2025-07-14", P2={"count": "0", "note": "grower: fresh entries in the fruit on two trees of this row"}),
    # A trap down; two scouts at one trap.
    **_counts("2025-07-07", B1=3, B2=2, B3=4, B4=6, B5=5, B6=8),
    **_on("2025-07-14", B3={"no_reading": "down", "note": "post knocked over, hung up again"}),
    **_counts("2025-07-14", B1=4, B2=3, B4=5, B5=6, B6=7),
    # Out of lures.
    **_on(
        "2025-07-07",
        W1={"count": "5"},
        W2={"count": "7", "lure": "none", "note": "lure lost, none left"},
        W3={"count": "9"},
    ),
    **_counts("2025-07-14", W1=6, W2=1, W3=8),
}
"""What differs, by trap and day of the round."""

EXTRA_FILES: dict[str, tuple[str, list[Row]]] = {
    "2025-07-02-south-late.csv": ("Juno Hazelrigg", [{"trap": "G2", "read_on": "2025-07-02", "count": "6"}]),
    "2025-07-08-south-late.csv": ("Juno Hazelrigg", [{"trap": "G3", "read_on": "2025-07-08", "count": "4"}]),
    "2025-07-15-second-count.csv": (
        "Perrin Alderquist",
        [
            {"trap": "B5", "read_on": "2025-07-14", "count": "9", "note": "read on my way home"},
            {"trap": "M3", "read_on": "2025-07-14", "count": "8", "recount": "yes", "note": "checked the catch again"},
        ],
    ),
}
"""Tallies beside the rounds: scout and rows, by file name."""
