"""States of what stands beside the round, for the pictures: plan, bench, register, looks, treatments, vials, years.

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
                ["g", *"fK5", "enter"],
                "the marked trap in full, the series before it, and `!` where print has another place for it",
            ),
            (
                "register-move",
                ["m", "tab", *"21"],
                "what is known of the trap, to be typed over; the day and what it begins",
            ),
            (
                "register-history",
                [*["tab"] * 8, *"nearer the gate", "enter", "h"],
                "who moved it, when, each column from what to what, and why",
            ),
            (
                "register-route",
                ["escape", "5", *["down"] * 3, "u", "u"],
                "the stop that is carried, its new place below, and how to keep or drop the order",
            ),
        ),
    ),
    (
        "2025-04-10",
        (
            ("plan", ["n"], "overdue first with `!`, soon with `*`, hung with `=`; the day and the rule of each"),
            ("packing", ["k"], "needed, there, to buy; `not counted` where nobody has counted"),
            ("stock", ["s"], "what is left of each lot, `!` and the day before it runs out or expires"),
            ("stock-typed", ["e", "enter", "enter", *"120"], "lot, counted or bought, number, day"),
        ),
    ),
    (
        "",
        (
            (
                "make-up",
                ["m", "escape", "n", *"T7", "enter", *"CM", "enter", *"TS-4", "enter", *"OFM25A", "enter"],
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
                "look-more",
                [*"5ff60", "enter"],
                "how many more in words, the plan with its source, the share and its interval",
            ),
            ("look-stop", [*"ff", "enter"], "the verdict in words, what was typed"),
            (
                "look-fruit",
                ["enter", "3", *"egf"],
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
                "no advice in its head, what it changes before it is taken, what to ask the grower",
            ),
            ("what-else", ["escape", "v", "u", "2", "enter"], "kinds with their letters, a number for the vial"),
            ("grid", ["escape", "j", *"10", "enter", *"40", "enter", *"16"], "squares counted, squares in all, moths"),
            ("found", ["escape", "w"], "each lure that can be found, by number; what it means for the trap so far"),
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
                ["s"],
                "the figures before and after, `coming down`, `not coming down` or `too early to say`",
            ),
            ("vials", ["escape", "v"], "the vial that waits, its trap, whether it is among the counted"),
            (
                "identification",
                ["enter", *"CM", "enter", *"Orla Finchwick", "enter", "enter"],
                "the count it changes, the previous figure and after, and that a second Enter is wanted",
            ),
        ),
    ),
    (
        "",
        (
            (
                "years",
                ["d", *["pagedown"] * 6, "v"],
                "season beside season, the same day of each, what cannot be compared",
            ),
            ("years-curves", ["d", "v"], "the running season full, the others dotted, sums below"),
        ),
    ),
    (
        "",
        (("area-update", ["l", "u"], "what is withheld in words, `!` before it goes out, that u again writes it"),),
    ),
)
