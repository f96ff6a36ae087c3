"""States of what stands beside the round: plan, assembly, register, samples, treatments, vials, years.

Each sitting begins at the desk of a fresh farm, on the sample's running day or on the one named.
"""

from __future__ import annotations

from collections.abc import Sequence

State = tuple[str, list[str], str]

OBSERVATION_SHEETS: Sequence[tuple[str, Sequence[State]]] = (
    (
        "",
        (
            (
                "register",
                ["e", "g", *"K5", "enter"],
                "the marked trap in full, the series before it, and `!` where print has another place for it",
            ),
            (
                "register-move",
                ["m", "1", "tab", *"21"],
                "what is known of the trap, to be typed over; the day and what it begins",
            ),
            (
                "register-history",
                [*["tab"] * 8, *"nearer the gate", "enter", "enter", "h"],
                "who moved it, when, each column from what to what, and why",
            ),
            (
                "register-route",
                ["escape", "5", *["down"] * 3, "enter", "up", "up"],
                "the stop that is carried, its new place below, and how to keep or drop the order",
            ),
        ),
    ),
    (
        "2025-04-10",
        (
            ("plan", ["n"], "overdue first with `!`; the day of each, and every rule of the marked row"),
            ("packing", ["2"], "needed, there, to buy; `not counted` where nobody has counted"),
            ("stock", ["3"], "what is left of each lot, `!` and the day before it runs out or expires"),
            ("stock-typed", ["a", "enter", *"120"], "lot, counted or bought, number, day"),
        ),
    ),
    (
        "",
        (
            (
                "assemble",
                ["u", "escape", "a", *"T7", "enter", *"CM", "enter", *"TS-4", "enter", *"OFM25A", "enter"],
                "what is known of body and lot beside each, `!` and words for what speaks against it, the reason asked",
            ),
            ("close", ["escape", "escape", "c"], "traps in the order of the routes, their parts, one key each"),
        ),
    ),
    (
        "",
        (
            ("samples", ["enter", "enter", "a"], "what to look for in this block at this time, by number"),
            (
                "sample-more",
                [*"5ff60", "enter"],
                "how many more in words, the plan with its source, the share and its interval",
            ),
            ("sample-stop", [*"ff", "enter"], "the verdict in words, what was typed"),
            (
                "sample-fruit",
                ["enter", "3", *"ejf"],
                "entries apart from stings, the trap with the highest catch to begin at",
            ),
        ),
    ),
    (
        "",
        (
            (
                "treatment",
                [
                    "enter",
                    "enter",
                    "t",
                    "shift+tab",
                    "shift+tab",
                    *"MILL",
                    "tab",
                    *"OBLR",
                    "tab",
                    *"2025-06-30",
                    "tab",
                    *"cover spray",
                    "tab",
                    "tab",
                    "enter",
                ],
                "no advice in its title, what Save saves, what to ask the grower",
            ),
            ("treatment-asked", ["enter"], "what it changes, `!` before what needs a word, `y` for yes"),
            (
                "other-catch",
                ["escape", "escape", "y", "m", "2", "u", "2", "enter"],
                "kinds with their letters, a number for the vial",
            ),
            (
                "grid",
                ["escape", "y", "m", "3", *"10", "enter", *"40", "enter", *"16"],
                "squares counted, squares in all, moths",
            ),
            (
                "found",
                ["escape", "y", "w"],
                "each lure that can be found, by number; what it means for the trap so far",
            ),
            (
                "found-said",
                ["2", *"30"],
                "since when it was wrong, how many readings turn suspect, what the block shows then",
            ),
        ),
    ),
    (
        "",
        (
            (
                "after-treatments",
                ["s", "4"],
                "the figures before and after, the untreated blocks, and whether that tells anything",
            ),
            ("vials", ["escape", "m", "v"], "the vial that waits, its trap, whether it is among the counted"),
            (
                "identify",
                ["enter", *"CM", "enter", *"Orla Finchwick", "enter", "enter"],
                "the count it changes, the previous figure and after, and `y` for yes",
            ),
        ),
    ),
    (
        "",
        (
            (
                "years",
                ["d", *["pagedown"] * 6, "y"],
                "season beside season, the same day of each, what cannot be compared",
            ),
            ("years-curves", ["right", "tab"], "the running season full, the others dotted, sums below"),
        ),
    ),
    (
        "",
        (
            ("", ["l"], ""),
            (
                "area-update",
                ["down"] * 6,
                "what is withheld in words, `!` before it goes out, that Enter publishes it",
            ),
        ),
    ),
)
