"""Keys of the desk and of the places where a round is read: summary, letters, replay, conflicts."""

from __future__ import annotations

from roundtui.app.keys import Action

DESK = (
    Action(
        "desk.open",
        "enter,ctrl+j",
        "open",
        "Open the marked round, at first the first one due.",
        "open",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    Action("desk.up", "up,minus,subtract", "up", "Mark the round above.", "mark(-1)", shown="Up", pad="-"),
    Action("desk.down", "down,plus,add", "down", "Mark the round below.", "mark(1)", shown="Down", pad="+"),
    Action("desk.summary", "s", "summary", "Summary of all blocks.", "summary", foot="s"),
    Action(
        "desk.sheet",
        "t",
        "tally sheet",
        "Type in the paper sheet of the marked round; again for double entry.",
        "sheet",
        foot="t",
    ),
    Action("desk.replay", "r", "replay", "Replay the newest round of the marked route.", "replay", foot="r"),
    Action("desk.conflicts", "o", "conflicts", "Conflicts: entries that contradict each other.", "conflicts"),
    Action("desk.question", "q", "question", "The entry with the newest open question.", "question"),
    Action("desk.season", "d", "season", "Season: catch curves, degree-days, biofix and events.", "season", foot="d"),
    Action(
        "desk.samples",
        "a",
        "leaf, fruit",
        "Leaf and fruit check of a block, those of the marked round first.",
        "samples",
    ),
    Action("desk.vials", "v", "vials", "Vials to identify.", "vials"),
    Action("desk.plan", "n", "plan", "Plan of the season: hanging, packing, lures in stock, labels.", "plan"),
    Action("desk.letters", "l", "letters", "Letters to the growers: read, note, write.", "letters"),
    Action("desk.assemble", "m", "assemble", "Assemble traps: body, funnel, lid and lure by label.", "assemble"),
    Action("desk.close", "c", "close", "Close of season: take traps down, store the parts.", "close_season"),
    Action(
        "desk.register",
        "g",
        "register",
        "Register: farms, blocks, traps, lots and routes, and who changed them.",
        "register",
    ),
    Action("desk.bring", "b", "bring", "Bring a table of your own: set-up, counts or weather.", "bring"),
)
"""Keys of the desk."""
BRING = (
    Action(
        "bring.go-on",
        "enter,ctrl+j",
        "go on",
        "Answer what is asked; then write what was read, which asks once more.",
        "go_on",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    Action("bring.file", "f", "file", "Name a file, and what it holds.", "file", foot="f"),
    Action("bring.up", "up,minus,subtract", "up", "Read upward.", "scroll(-5)", shown="Up", pad="-"),
    Action("bring.down", "down,plus,add", "down", "Read on.", "scroll(5)", shown="Down", pad="+", foot="Down"),
    Action("bring.back", "escape", "back", "One step back, once all is written.", "back", shown="Escape"),
)
"""Keys where a table is brought."""
SUMMARY = (
    Action(
        "summary.told", "t", "notified", "Record a call made: to whom, how, and on which day.", "notified", foot="t"
    ),
    Action(
        "summary.treatment",
        "a",
        "treatment",
        "Record a spray that a grower reports. What it changes is shown first, and the catch is checked afterwards.",
        "treatment",
    ),
    Action("summary.season", "d", "season", "Season of the first block listed.", "season", foot="d"),
    Action(
        "summary.past",
        "p",
        "past",
        "The summary as it was at a time you type; press again for the present.",
        "past",
        foot="p",
    ),
    Action("summary.correct", "c", "correct", "Correct the newest entry about a trap that is typed.", "correct"),
    Action("summary.replay", "r", "replay", "Replay the round, entry by entry.", "replay"),
    Action("summary.letters", "l", "letters", "Letters to the growers.", "letters", foot="l"),
    Action("summary.up", "up", "up", "Read upward.", shown="Up, PgUp, Home"),
    Action("summary.down", "down", "read on", "Read on.", shown="Down, PgDn, End"),
    Action("summary.back", "escape", "back", "One step back.", "back", shown="Escape", foot="Escape"),
)
"""Keys of the summary."""
LETTERS = (
    Action("letters.all", "w", "write all", "Write every letter; nothing is sent.", "write_all", foot="w"),
    Action(
        "letters.one",
        "enter,ctrl+j",
        "write",
        "Write the letter of the marked farm; it asks for a second Enter.",
        "write_one",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    Action("letters.note", "n", "note", "Type the covering note of all letters.", "note", foot="n"),
    Action("letters.farm-note", "f", "farm note", "Type a note for the marked farm alone.", "farm_note"),
    Action(
        "letters.update",
        "u",
        "update",
        "Show the public area update; press again to write it. What is published stays.",
        "update",
        foot="u",
    ),
    Action(
        "letters.view",
        "v",
        "view",
        "Open the marked farm's letter, once written, in the system's viewer.",
        "view",
        foot="v",
    ),
    Action("letters.up", "up,minus,subtract", "up", "The farm above.", "mark(-1)", shown="Up", pad="-"),
    Action("letters.down", "down,plus,add", "down", "The farm below.", "mark(1)", shown="Down", pad="+"),
    Action(
        "letters.read-back", "pageup", "read back", "Back in the preview.", "scroll_page(-1)", shown="PgUp", pad="PgUp"
    ),
    Action("letters.read-on", "pagedown", "read on", "On in the preview.", "scroll_page(1)", shown="PgDn", pad="PgDn"),
    Action("letters.back", "escape", "back", "One step back; while letters are written: stop.", "back", shown="Escape"),
)
"""Keys of the letters."""
REPLAY = (
    Action(
        "replay.next", "right,plus,add,n", "next", "The next entry.", "step(1)", shown="Right", pad="+", foot="Right"
    ),
    Action("replay.before", "left,minus,subtract,p", "before", "The entry before.", "step(-1)", shown="Left", pad="-"),
    Action("replay.start", "home", "start", "Before the first entry.", "step(-99999)", shown="Home"),
    Action("replay.end", "end", "end", "The last entry.", "step(99999)", shown="End"),
    Action(
        "replay.play",
        "space",
        "play",
        "Play from here at the pace of the entries, or stop. Long waits are cut short, with a message.",
        "play",
        shown="Space",
        foot="Space",
    ),
    Action("replay.faster", "f", "faster", "Play 5, 20, 100 times as fast, then as it was again.", "faster"),
    Action("replay.go-to", "g", "go to", "Go to the first entry about a trap.", "go_to", shown="g text", foot="g"),
    Action(
        "replay.correct",
        "c",
        "correct",
        "Correct the entry: trap, day, values, and why. What that changes is shown first.",
        "correct(False)",
        foot="c",
    ),
    Action("replay.withdraw", "t", "withdraw", "Withdraw the entry, with a reason.", "correct(True)"),
    Action(
        "replay.question",
        "q",
        "question",
        "Ask about the entry, answer, or close the question; open ones are listed on the desk.",
        "question",
        foot="q",
    ),
    Action("replay.entry", "h,enter,ctrl+j", "entry", "The history of the entry.", "history", pad="Enter"),
    Action("replay.summary", "s", "summary", "The whole summary as it was at this moment.", "summary"),
    Action(
        "replay.round-before",
        "pageup",
        "round before",
        "The round before of this route.",
        "round(-1)",
        shown="PgUp",
        pad="PgUp",
    ),
    Action("replay.round-after", "pagedown", "round after", "The round after.", "round(1)", shown="PgDn", pad="PgDn"),
    Action("replay.day", "d", "day", "The round of a day that is typed.", "day"),
    Action("replay.route", "r", "route", "The next route.", "route"),
    Action("replay.conflicts", "o", "conflicts", "Conflicts: entries that contradict each other.", "conflicts"),
    Action("replay.back", "escape", "back", "One step back.", "back", shown="Escape"),
)
"""Keys of a replay."""
CONFLICTS = (
    Action(
        "conflicts.keep",
        "",
        "keep",
        "Keep the entry of that number; the others are withdrawn. Who settled it is recorded.",
        shown="1 to 9",
        pad="same",
        foot="1 2",
    ),
    Action("conflicts.none", "x", "none", "None is right: all are withdrawn.", "none", foot="x"),
    Action(
        "conflicts.second-looks",
        "s",
        "recounts",
        "Keep the other counts as recounts of the same catch instead of withdrawing them.",
        "recounts",
        foot="s",
    ),
    Action("conflicts.set-up", "u", "set-up rows", "Set-up rows that differ on another laptop.", "set_up"),
    Action("conflicts.up", "up,minus,subtract", "up", "The conflict above.", "mark(-1)", shown="Up", pad="-"),
    Action("conflicts.down", "down,plus,add", "down", "The conflict below.", "mark(1)", shown="Down", pad="+"),
    Action("conflicts.back", "escape", "back", "One step back.", "back", shown="Escape", foot="Escape"),
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
        "f",
        "whole file",
        "A number settles all rows of the file alike; press again for the marked row alone.",
        "whole_file",
        foot="f",
    ),
    Action("set-up.up", "up,minus,subtract", "up", "The row above.", "mark(-1)", shown="Up", pad="-"),
    Action("set-up.down", "down,plus,add", "down", "The row below.", "mark(1)", shown="Down", pad="+"),
    Action("set-up.back", "escape", "back", "One step back.", "back", shown="Escape", foot="Escape"),
)
"""Keys of set-up rows that differ."""
APP = (
    Action("app.help", "f1,question_mark", "keys", "These keys.", "app.keys", shown="F1 or ?", foot="F1"),
    Action("app.guide", "f2", "guide", "How a round goes, on one page.", "app.guide", shown="F2"),
    Action(
        "app.theme",
        "f4",
        "theme",
        "Next theme: dark, light, high contrast for the sun. It is kept.",
        "app.theme",
        shown="F4",
    ),
    Action("app.leave", "ctrl+q", "leave", "Leave; everything entered is on the disk.", "app.quit", foot="ctrl+q"),
)
"""Keys that work everywhere."""
