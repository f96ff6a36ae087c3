"""Keys of the desk and of the places where a round is read: summary, letters, replay, conflicts; and those of all."""

from __future__ import annotations

from roundtui.app.keys import Action, back, marks


def _place(letter: str, words: str, help: str, place: str, *, bare: bool = True, foot: str = "") -> Action:  # noqa: A002
    """A place: its letter alone on the desk, after m anywhere."""
    act = f"place({place!r})" if bare else ""
    return Action(
        *(f"desk.{place}", letter if bare else "", words, help, act),
        shown=letter if bare else f"m {letter}",
        foot=foot,
        place=place,
    )


_TO = (
    _place("s", "summary", "Summary of all blocks.", "summary", foot="s"),
    _place("t", "tally sheet", "The paper sheet of the marked round, typed in.", "sheet", foot="t"),
    _place("r", "replay", "The newest round of the marked route, entry by entry.", "replay"),
    _place("d", "season", "Catch curves, degree-days, biofix and events.", "season", foot="d"),
    _place("a", "leaf and fruit", "Leaf and fruit check of a block, those of the marked round first.", "sample"),
    _place("n", "season plan", "Plan of the season: hanging, packing, lures in stock, labels.", "plan"),
    _place("l", "letters", "Letters to the growers: read, note, write.", "letters", foot="l"),
    _place("e", "traps and blocks", "Farms, blocks, traps, lots and routes, and who changed them.", "register"),
    _place("u", "assemble traps", "Assemble traps: body, funnel, lid and lure by label.", "assembly"),
    _place("c", "end of season", "Take traps down, put the parts away.", "season_close"),
    _place("o", "conflicts", "Entries that contradict each other.", "conflicts", bare=False),
    _place("v", "vials", "Vials to identify.", "vials", bare=False),
)
PLACES = {action.shown.removeprefix("m "): action for action in _TO}
"""What the menu leads to, by letter."""
DESK = (
    Action(
        "desk.open",
        "enter,ctrl+j",
        "walk",
        "Open the marked round, at first the first one due; of another list what the marked row is about.",
        "open",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    *marks("desk", "row"),
    *_TO,
    Action("desk.question", "q", "question", "The entry with the newest open question.", "question"),
)
"""Keys of the desk."""
SUMMARY = (
    Action("summary.season", "enter,ctrl+j", "season", "Season of the block.", "season", shown="Enter", foot="Enter"),
    Action(
        "summary.told", "c", "call made", "Record a call made: to whom, how, and on which day.", "notified", foot="c"
    ),
    Action(
        "summary.treatment",
        "t",
        "spray reported",
        "Record a spray that a grower reports. What it changes is shown first, and the catch is checked afterwards.",
        "treatment",
        foot="t",
        was="a",
    ),
    Action("summary.correct", "z", "fix entry", "Correct the newest entry about a trap.", "correct", foot="z"),
    Action(
        "summary.past",
        "d",
        "as it stood",
        "The summary as it stood at a time you type; press again for the present.",
        "past",
        foot="d",
        was="p",
    ),
    Action("summary.replay", "r", "replay", "Replay the round, entry by entry.", "replay"),
    *marks("summary", "row"),
    back("summary"),
)
"""Keys of the summary."""
LETTERS = (
    Action(
        "letters.one",
        "enter,ctrl+j",
        "write this",
        "Write the letter of the marked farm, or the public update where that is marked. What is there already is "
        "asked about first.",
        "write_one",
        shown="Enter",
        pad="Enter",
        foot="Enter",
        was="u",
    ),
    Action("letters.all", "w", "write all", "Write every letter; nothing is sent.", "write_all", foot="w"),
    Action("letters.note", "n", "note", "Type the covering note of all letters.", "note", foot="n"),
    Action(
        "letters.farm-note",
        "",
        "note to this farm",
        "Type a note for the marked farm alone.",
        "farm_note",
        menu=1,
        was="f",
    ),
    Action(
        "letters.view",
        "v",
        "view",
        "Open the marked farm's letter, once written, in the system's viewer.",
        "view",
        foot="v",
    ),
    Action(
        "letters.told", "c", "call made", "Record a call made: to whom, how, and on which day.", "notified", foot="c"
    ),
    *marks("letters", "farm"),
    Action(
        *("letters.read-back", "pageup", "read", "Back in the preview.", "scroll_page(-1)"),
        shown="PgUp",
        pad="PgUp",
        move="PgUp PgDn",
    ),
    Action("letters.read-on", "pagedown", "read on", "On in the preview.", "scroll_page(1)", shown="PgDn", pad="PgDn"),
    back("letters", "One step back; while letters are written: stop."),
)
"""Keys of the letters."""
REPLAY = (
    Action(
        *("replay.next", "right,plus,add", "entry", "The next entry.", "step(1)"),
        shown="Right",
        pad="+",
        move="←→",
        was="n",
    ),
    Action(
        "replay.before",
        "left,minus,subtract",
        "before",
        "The entry before.",
        "step(-1)",
        shown="Left",
        pad="-",
        was="p",
    ),
    Action("replay.start", "home", "start", "Before the first entry.", "step(-99999)", shown="Home"),
    Action("replay.end", "end", "end", "The last entry.", "step(99999)", shown="End"),
    Action("replay.play", "space", "play", "Play from here, or stop.", "play", shown="Space", foot="Space"),
    Action("replay.go-to", "g", "go to", "Go to the first entry about a trap.", "go_to", shown="g text", move="g"),
    Action(
        "replay.correct",
        "z",
        "fix",
        "Correct the entry: trap, day, values, and why. What that changes is shown first.",
        "correct(False)",
        foot="z",
        was="c",
    ),
    Action(
        "replay.take-back", "u", "withdraw", "Withdraw the entry, with a reason.", "correct(True)", foot="u", was="t"
    ),
    Action(
        "replay.question",
        "q",
        "question",
        "Ask about the entry, answer, or close the question; open ones are listed on the desk.",
        "question",
        foot="q",
    ),
    Action("replay.entry", "h,enter,ctrl+j", "history", "The history of the entry.", "chain", pad="Enter", foot="h"),
    Action("replay.summary", "s", "summary", "The whole summary as it was at this moment.", "summary"),
    Action(
        *("replay.round-before", "pageup", "round", "The round before of this route.", "round(-1)"),
        shown="PgUp",
        pad="PgUp",
        move="PgUp PgDn",
    ),
    Action("replay.round-after", "pagedown", "round after", "The round after.", "round(1)", shown="PgDn", pad="PgDn"),
    Action("replay.day", "d", "day", "The round of a day that is typed.", "day", foot="d"),
    Action("replay.route", "tab", "route", "The next route.", "route", shown="Tab", move="Tab", was="r"),
    back("replay"),
)
"""Keys of a replay."""
CONFLICTS = (
    Action(
        "conflicts.keep",
        "",
        "keep",
        "Keep the entry of that number; the others are withdrawn, or stay as recounts of the same catch. What that "
        "changes is asked first, and who settled it is recorded.",
        shown="1 to 9",
        pad="same",
        foot="1 2",
    ),
    Action("conflicts.none", "x", "none", "None is right: all are withdrawn.", "none", foot="x"),
    Action(
        "conflicts.second-looks",
        "left,right",
        "the others",
        "Whether the other counts are withdrawn, or kept as recounts of the same catch.",
        "recounts",
        shown="Left Right",
        move="←→",
        was="s",
    ),
    Action(
        *("conflicts.set-up", "tab", "set-up rows", "Set-up rows that differ on another laptop.", "set_up"),
        shown="Tab",
        move="Tab",
        was="u",
    ),
    *marks("conflicts", "conflict"),
    back("conflicts"),
)
"""Keys of open conflicts."""
SET_UP_ROWS = (
    Action(
        "set-up.keep",
        "",
        "settle",
        "1 keeps the row as it is here; another number takes over that laptop's row. Who settled it is recorded. "
        "Change the CSV file to match.",
        shown="1 to 9",
        pad="same",
        foot="1 2",
    ),
    Action(
        "set-up.whole-file",
        "left,right",
        "row or whole file",
        "Whether a number settles the marked row alone, or all rows of its file alike.",
        "whole_file",
        shown="Left Right",
        move="←→",
        was="f",
    ),
    *marks("set-up", "row"),
    back("set-up"),
)
"""Keys of set-up rows that differ."""
APP = (
    Action("app.menu", "m", "more", "The menu: what has no key of its own here, and all places.", "app.menu"),
    Action("app.go-to", "g", "go to", "Go to a trap, a block or a farm by its label.", "app.go_to", shown="g text"),
    Action("app.help", "f1,question_mark", "keys", "These keys.", "app.keys", shown="? or F1"),
    Action("app.guide", "f2", "guide", "How a round goes, on one page.", "app.guide", shown="F2"),
    Action(
        "app.looks",
        "f4",
        "themes",
        "Next theme: dark, light, high contrast for the sun, 16 colours. It is kept.",
        "app.looks",
        shown="F4",
    ),
    Action("app.name", "f6", "name", "Who is at the keys; the name stands on every entry.", "app.name", shown="F6"),
    Action("app.palette", "ctrl+p", "search", "Search commands, places and labels.", shown="ctrl+p"),
    Action("app.leave", "ctrl+q", "leave", "Leave; everything entered is on the disk.", "app.quit"),
)
"""Keys that work everywhere."""
