"""Every key of the app in one table: bindings, footers, help, palette and docs/keys.md are all made from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.binding import BindingType


@dataclass(frozen=True, slots=True)
class Action:
    """Something a key does."""

    id: str
    """Name that stays, as walk.liner."""
    keys: str
    """Keys as the terminal names them, parted by commas; the ones on the number pad among them."""
    shown: str
    """The key as people call it."""
    pad: str
    """The key on the number pad; empty where there is none."""
    words: str
    """Two or three words for a footer."""
    help: str
    """One sentence for help and manual."""
    act: str = ""
    """Textual action; empty: the count field sees to it."""
    foot: str = ""
    """The key in the footer, where it is among the few that stand there."""


WALK = (
    Action(
        "walk.record",
        "enter,ctrl+j",
        "digits, Enter",
        "same",
        "record",
        "Record the count and go to the next trap.",
        foot="Enter",
    ),
    Action("walk.liner", "l,plus,add", "l", "+", "liner", "Liner replaced; press again to undo.", foot="l"),
    Action(
        "walk.lure",
        "r,asterisk,multiply",
        "r",
        "*",
        "lure",
        "Lure replaced; press again to undo. It names the lot it takes; F3 chooses another.",
        foot="r",
    ),
    Action("walk.any-lure", "f3", "F3", "", "any lure", "Lure replaced: choose from every lot, other species too."),
    Action("walk.kill-strip", "k", "k", "", "kill strip", "Kill strip replaced; press again to undo."),
    Action(
        "walk.body",
        "b",
        "b",
        "",
        "body",
        "Trap body replaced: type the new body's label; Enter alone is a clean body, never used.",
    ),
    Action(
        "walk.left-in",
        "c,full_stop,comma,decimal,separator",
        "c",
        ". or ,",
        "not cleared",
        "Moths left in the trap, not cleared.",
    ),
    Action(
        "walk.no-reading",
        "x,slash,divide",
        "x, one letter",
        "/, one digit",
        "not read",
        "Not read: s 1 skipped, c 2 closed, m 3 missing, d 4 down, g 5 damaged, o 6 other. Escape or Backspace "
        "cancels, any other key is refused.",
        foot="x",
    ),
    Action("walk.others", "o", "o digits", "", "others", "Other insects in the trap."),
    Action("walk.estimate", "e", "e", "", "estimate", "The count is an estimate; press again to undo."),
    Action("walk.looks", "a", "a", "", "leaf, fruit", "Leaf and fruit check of this block; what is typed stays."),
    Action(
        "walk.treatment",
        "t",
        "t",
        "",
        "treated",
        "A spray that the grower reports: a day, a species and the grower's words. What is typed stays.",
    ),
    Action("walk.grid", "j", "j", "", "grid", "Estimate the count from some squares of the liner."),
    Action(
        "walk.second-count",
        "u",
        "u",
        "",
        "recount",
        "A recount of a catch that somebody else counted. It is compared with theirs and is no catch of its own; "
        "press again to undo.",
    ),
    Action(
        "walk.specimen",
        "v",
        "v",
        "",
        "other catch",
        "Other catch in this trap: a kind by its letter, how many, a vial, and whether they were counted.",
    ),
    Action("walk.note", "n", "n text", "", "note", "A note, to the end of the line; Enter records it with the entry."),
    Action("walk.found", "w", "w", "", "wrong lure", "A wrong lure, or none, was found in the trap: choose which."),
    Action("walk.stage", "f", "f", "", "stage", "Fruit stage of this block, from the whole list."),
    Action(
        "walk.before",
        "up,minus,subtract",
        "Up",
        "-",
        "trap before",
        "Show the trap before. Records nothing; what was typed is dropped, with a message. With text in the field, "
        "- does nothing. At the fruit stage, Up and Down change the stage.",
    ),
    Action("walk.after", "down", "Down", "", "next trap", "Show the trap after, as Up."),
    Action("walk.go-to", "g", "g text", "", "go to", "Go to a trap by its label."),
    Action(
        "walk.last",
        "z",
        "z",
        "",
        "fix",
        "Fix the last entry, or that of a trap already read. Its old value is beside the field; a new value and "
        "Enter is a correction, and both stay on record.",
        foot="z",
    ),
    Action("walk.summary", "s", "s", "", "summary", "Summary so far.", foot="s"),
    Action(
        "walk.back", "escape", "Escape", "", "back", "One step back; a typed count is lost on the second press only."
    ),
)
"""Keys of a round."""
DESK = (
    Action(
        "desk.open",
        "enter,ctrl+j",
        "Enter",
        "Enter",
        "open",
        "Open the marked round, at first the first one due.",
        "open",
        foot="Enter",
    ),
    Action("desk.up", "up,minus,subtract", "Up", "-", "up", "Mark the round above.", "mark(-1)"),
    Action("desk.down", "down,plus,add", "Down", "+", "down", "Mark the round below.", "mark(1)"),
    Action("desk.summary", "s", "s", "", "summary", "Summary of all blocks.", "summary", foot="s"),
    Action(
        "desk.sheet",
        "t",
        "t",
        "",
        "tally sheet",
        "Type in the paper sheet of the marked round; again for double entry.",
        "sheet",
        foot="t",
    ),
    Action("desk.replay", "r", "r", "", "replay", "Replay the newest round of the marked route.", "replay", foot="r"),
    Action("desk.conflicts", "o", "o", "", "conflicts", "Conflicts: entries that contradict each other.", "conflicts"),
    Action("desk.question", "q", "q", "", "question", "The entry with the newest open question.", "question"),
    Action(
        "desk.season",
        "d",
        "d",
        "",
        "season",
        "Season: catch curves, degree-days, biofix and events.",
        "season",
        foot="d",
    ),
    Action(
        "desk.looks",
        "a",
        "a",
        "",
        "leaf, fruit",
        "Leaf and fruit check of a block, those of the marked round first.",
        "looks",
    ),
    Action("desk.vials", "v", "v", "", "vials", "Vials to identify.", "vials"),
    Action("desk.plan", "n", "n", "", "plan", "Plan of the season: hanging, packing, lures in stock, labels.", "plan"),
    Action("desk.letters", "l", "l", "", "letters", "Letters to the growers: read, note, write.", "letters"),
    Action("desk.make-up", "m", "m", "", "assemble", "Assemble traps: body, funnel, lid and lure by label.", "make_up"),
    Action("desk.close", "c", "c", "", "close", "Close of season: take traps down, store the parts.", "close_season"),
    Action(
        "desk.register",
        "g",
        "g",
        "",
        "register",
        "Register: farms, blocks, traps, lots and routes, and who changed them.",
        "register",
    ),
)
"""Keys of the desk."""
SUMMARY = (
    Action(
        "summary.told", "t", "t", "", "told", "Record a call made: to whom, how, and on which day.", "told", foot="t"
    ),
    Action(
        "summary.treatment",
        "a",
        "a",
        "",
        "treatment",
        "Record a spray that a grower reports. What it changes is shown first, and the catch is checked afterwards.",
        "treatment",
    ),
    Action("summary.season", "d", "d", "", "season", "Season of the first block listed.", "season", foot="d"),
    Action(
        "summary.past",
        "p",
        "p",
        "",
        "past",
        "The summary as it was at a time you type; press again for the present.",
        "past",
        foot="p",
    ),
    Action(
        "summary.correct",
        "c",
        "c",
        "",
        "correct",
        "Correct the newest entry about a trap that is typed.",
        "correct",
    ),
    Action("summary.replay", "r", "r", "", "replay", "Replay the round, entry by entry.", "replay"),
    Action("summary.letters", "l", "l", "", "letters", "Letters to the growers.", "letters", foot="l"),
    Action("summary.up", "up", "Up, PgUp, Home", "", "up", "Read upward."),
    Action("summary.down", "down", "Down, PgDn, End", "", "read on", "Read on."),
    Action("summary.back", "escape", "Escape", "", "back", "One step back.", "back", foot="Escape"),
)
"""Keys of the summary."""
LETTERS = (
    Action("letters.all", "w", "w", "", "write all", "Write every letter; nothing is sent.", "write_all", foot="w"),
    Action(
        "letters.one",
        "enter,ctrl+j",
        "Enter",
        "Enter",
        "write",
        "Write the letter of the marked farm; it asks for a second Enter.",
        "write_one",
        foot="Enter",
    ),
    Action("letters.note", "n", "n", "", "note", "Type the covering note of all letters.", "note", foot="n"),
    Action("letters.farm-note", "f", "f", "", "farm note", "Type a note for the marked farm alone.", "farm_note"),
    Action(
        "letters.update",
        "u",
        "u",
        "",
        "update",
        "Show the public area update; press again to write it. What is published stays.",
        "update",
        foot="u",
    ),
    Action(
        "letters.view",
        "v",
        "v",
        "",
        "view",
        "Open the marked farm's letter, once written, in the system's viewer.",
        "view",
        foot="v",
    ),
    Action("letters.up", "up,minus,subtract", "Up", "-", "up", "The farm above.", "mark(-1)"),
    Action("letters.down", "down,plus,add", "Down", "+", "down", "The farm below.", "mark(1)"),
    Action("letters.read-back", "pageup", "PgUp", "PgUp", "read back", "Back in the preview.", "scroll_page(-1)"),
    Action("letters.read-on", "pagedown", "PgDn", "PgDn", "read on", "On in the preview.", "scroll_page(1)"),
    Action("letters.back", "escape", "Escape", "", "back", "One step back; while letters are written: stop.", "back"),
)
"""Keys of the letters."""
PLAN = (
    Action(
        "plan.plan",
        "p",
        "p",
        "",
        "plan",
        "When traps have to hang, overdue ones first.",
        "show('plan')",
        foot="p",
    ),
    Action("plan.packing", "k", "k", "", "packing", "What to pack.", "show('packing')", foot="k"),
    Action(
        "plan.route",
        "r",
        "r",
        "",
        "round",
        "What to pack for the next round of each route in turn, then for the season again.",
        "route",
        foot="r",
    ),
    Action("plan.stock", "s", "s", "", "stock", "Lures in stock, by lot.", "show('stock')", foot="s"),
    Action(
        "plan.enter",
        "e",
        "e",
        "",
        "enter",
        "Record lures bought or counted.",
        "enter",
        foot="e",
    ),
    Action(
        "plan.labels",
        "w",
        "w",
        "",
        "labels",
        "Write trap labels with a scannable code into the folder's labels, as a page and as a text.",
        "labels",
        foot="w",
    ),
    Action("plan.season", "y", "y", "", "year", "The season after this one; then this one again.", "season"),
    Action("plan.up", "up", "Up, PgUp, Home", "", "up", "Read upward."),
    Action("plan.down", "down", "Down, PgDn, End", "", "read on", "Read on."),
    Action("plan.back", "escape", "Escape", "", "back", "One step back.", "back"),
)
"""Keys of the plan."""
SEASON = (
    Action("season.block", "b,pagedown", "b", "PgDn", "block", "The next block.", "block(1)", foot="b"),
    Action("season.block-before", "pageup", "PgUp", "PgUp", "block before", "The block before.", "block(-1)"),
    Action("season.species", "s", "s", "", "species", "The next species of this block.", "species", foot="s"),
    Action("season.year", "y", "y", "", "year", "The year before; after the oldest, this year.", "year", foot="y"),
    Action("season.trap", "t", "t", "", "trap", "Each trap alone in turn, then the mean again.", "trap"),
    Action(
        "season.left", "left", "Left", "", "left", "The round before; its numbers are under the chart.", "point(-1)"
    ),
    Action("season.right", "right", "Right", "", "right", "The round after.", "point(1)"),
    Action("season.first", "home", "Home", "", "first", "The first round of the season.", "point(-999)"),
    Action("season.last", "end", "End", "", "last", "The last round of the season.", "point(999)"),
    Action("season.up", "up", "Up", "", "up", "Events before.", "events(-1)"),
    Action("season.down", "down", "Down", "", "down", "Events after.", "events(1)"),
    Action(
        "season.biofix",
        "c",
        "c",
        "",
        "biofix",
        "Confirm the biofix that is proposed, or set another day with a reason.",
        "biofix",
        foot="c",
    ),
    Action(
        "season.temps",
        "m",
        "m",
        "",
        "temps",
        "Enter a day's maximum and minimum, read off the thermometer.",
        "temps",
        foot="m",
    ),
    Action(
        "season.treatment",
        "a",
        "a",
        "",
        "treatment",
        "Record a spray of this block that the grower reports; it is marked T in the chart.",
        "treatment",
    ),
    Action(
        "season.picture",
        "w",
        "w",
        "",
        "picture",
        "Write the picture as SVG and PNG into the folder's pictures, for a letter.",
        "picture",
    ),
    Action(
        "season.years",
        "v",
        "v",
        "",
        "years",
        "Year against year: this block's season beside the seasons before.",
        "years",
        foot="v",
    ),
    Action("season.back", "escape", "Escape", "", "back", "One step back.", "back"),
)
"""Keys of the season."""
YEARS = (
    Action(
        "years.by",
        "d",
        "d",
        "",
        "degree-days",
        "Compare the seasons by degree-days after biofix; press again for the calendar.",
        "by",
        foot="d",
    ),
    Action("years.area", "a", "a", "", "area", "All blocks together; again: the block.", "area", foot="a"),
    Action("years.view", "v", "v", "", "curves", "The curves; again: the table.", "view", foot="v"),
    Action("years.block", "b", "b", "", "block", "The next block.", "block", foot="b"),
    Action("years.species", "s", "s", "", "species", "The next species.", "species", foot="s"),
    Action("years.read-back", "pageup,up", "Up, PgUp", "PgUp", "read back", "Back in the table.", "scroll_page(-1)"),
    Action("years.read-on", "pagedown,down", "Down, PgDn", "PgDn", "read on", "On in the table.", "scroll_page(1)"),
    Action("years.back", "escape", "Escape", "", "back", "Back to the season.", "back"),
)
"""Keys of year against year."""
REPLAY = (
    Action("replay.next", "right,plus,add,n", "Right", "+", "next", "The next entry.", "step(1)", foot="Right"),
    Action("replay.before", "left,minus,subtract,p", "Left", "-", "before", "The entry before.", "step(-1)"),
    Action("replay.start", "home", "Home", "", "start", "Before the first entry.", "step(-99999)"),
    Action("replay.end", "end", "End", "", "end", "The last entry.", "step(99999)"),
    Action(
        "replay.play",
        "space",
        "Space",
        "",
        "play",
        "Play from here at the pace of the entries, or stop. Long waits are cut short, with a message.",
        "play",
        foot="Space",
    ),
    Action("replay.faster", "f", "f", "", "faster", "Play 5, 20, 100 times as fast, then as it was again.", "faster"),
    Action("replay.go-to", "g", "g text", "", "go to", "Go to the first entry about a trap.", "go_to", foot="g"),
    Action(
        "replay.correct",
        "c",
        "c",
        "",
        "correct",
        "Correct the entry: trap, day, values, and why. What that changes is shown first.",
        "correct(False)",
        foot="c",
    ),
    Action("replay.take-back", "t", "t", "", "withdraw", "Withdraw the entry, with a reason.", "correct(True)"),
    Action(
        "replay.question",
        "q",
        "q",
        "",
        "question",
        "Ask about the entry, answer, or close the question; open ones are listed on the desk.",
        "question",
        foot="q",
    ),
    Action("replay.entry", "h,enter,ctrl+j", "h", "Enter", "entry", "The history of the entry.", "chain"),
    Action("replay.summary", "s", "s", "", "summary", "The whole summary as it was at this moment.", "summary"),
    Action(
        "replay.round-before", "pageup", "PgUp", "PgUp", "round before", "The round before of this route.", "round(-1)"
    ),
    Action("replay.round-after", "pagedown", "PgDn", "PgDn", "round after", "The round after.", "round(1)"),
    Action("replay.day", "d", "d", "", "day", "The round of a day that is typed.", "day"),
    Action("replay.route", "r", "r", "", "route", "The next route.", "route"),
    Action(
        "replay.conflicts", "o", "o", "", "conflicts", "Conflicts: entries that contradict each other.", "conflicts"
    ),
    Action("replay.back", "escape", "Escape", "", "back", "One step back.", "back"),
)
"""Keys of a replay."""
CONFLICTS = (
    Action(
        "conflicts.keep",
        "",
        "1 to 9",
        "same",
        "keep",
        "Keep the entry of that number; the others are withdrawn. Who settled it is recorded.",
        foot="1 2",
    ),
    Action("conflicts.none", "x", "x", "", "none", "None is right: all are withdrawn.", "none", foot="x"),
    Action(
        "conflicts.second-looks",
        "s",
        "s",
        "",
        "recounts",
        "Keep the other counts as recounts of the same catch instead of withdrawing them.",
        "recounts",
        foot="s",
    ),
    Action("conflicts.set-up", "u", "u", "", "set-up rows", "Set-up rows that differ on another laptop.", "set_up"),
    Action("conflicts.up", "up,minus,subtract", "Up", "-", "up", "The conflict above.", "mark(-1)"),
    Action("conflicts.down", "down,plus,add", "Down", "+", "down", "The conflict below.", "mark(1)"),
    Action("conflicts.back", "escape", "Escape", "", "back", "One step back.", "back", foot="Escape"),
)
"""Keys of open conflicts."""
LOOKS = (
    Action(
        "looks.enter",
        "enter,ctrl+j",
        "digits, Enter",
        "same",
        "checked",
        "How many were checked; without digits the plan's number. Then the verdict shows: stop, or how many more. "
        "Enter again saves, or goes on to the plan's next stop.",
        foot="Enter",
    ),
    Action(
        "looks.found",
        "f,plus,add",
        "f",
        "+",
        "found",
        "One more infested unit; of fruit, one more injured.",
        foot="f",
    ),
    Action(
        "looks.each",
        "m",
        "m digits",
        "* on leaves",
        "how many on it",
        "One more infested unit, and how many animals or mines are on it.",
    ),
    Action("looks.entry", "e", "e", "* on fruit", "entry", "One more fruit with an entry."),
    Action(
        "looks.sting",
        "g",
        "g",
        "/ on fruit",
        "sting",
        "One more fruit with a sting only, not counted as injured.",
    ),
    Action("looks.other", "o", "o", "- on fruit", "other", "One more fruit with another injury."),
    Action("looks.take-back", "backspace", "Backspace", "same", "withdraw", "Undoes the last key.", foot="Backspace"),
    Action("looks.record", "r", "r", "", "record", "Save as it is, the plan finished or not."),
    Action("looks.plan", "p", "p", "", "plan", "The next published plan for this, or none.", foot="p"),
    Action("looks.predators", "b", "b digits", "", "predators", "Units with a predator or parasite."),
    Action("looks.trees", "t", "t digits", "", "trees", "Number of trees sampled."),
    Action("looks.grade", "v", "v, a digit", "", "grade", "Severity: 0 absent to 5 severe."),
    Action("looks.place", "w", "w text", "", "place", "Where in the block."),
    Action(
        "looks.note",
        "n",
        "n text",
        "",
        "note",
        "A note. In the list: a pest that is not on it.",
    ),
    Action(
        "looks.give-up",
        "x",
        "x, x",
        "",
        "discard",
        "In the list: discard a sample under way. Otherwise it is kept, even through a crash.",
    ),
    Action(
        "looks.set-right",
        "z",
        "z",
        "",
        "fix",
        "In the list: correct your last sample of this block today; both stay on record.",
    ),
    Action("looks.up", "up,minus,subtract", "Up", "-", "up", "In a list: the line above."),
    Action("looks.down", "down,plus,add", "Down", "+", "down", "In a list: the line below."),
    Action("looks.back", "escape", "Escape", "", "back", "One step back; what was counted is kept.", foot="Escape"),
)
"""Keys of a look at leaf and fruit."""
VIALS = (
    Action(
        "vials.name",
        "enter,ctrl+j,n",
        "Enter or n",
        "Enter",
        "identify",
        "Identify the marked vial, or one whose number you type. What that changes in counts, figures and letters "
        "is shown first. A new name replaces the one before.",
        "name",
        foot="Enter",
    ),
    Action("vials.every", "a", "a", "", "all", "Show the identified ones of the season too.", "every", foot="a"),
    Action("vials.up", "up,minus,subtract", "Up", "-", "up", "The vial above.", "mark(-1)"),
    Action("vials.down", "down,plus,add", "Down", "+", "down", "The vial below.", "mark(1)"),
    Action("vials.back", "escape", "Escape", "", "back", "One step back.", "back", foot="Escape"),
)
"""Keys of the vials."""
SET_UP_ROWS = (
    Action(
        "set-up.keep",
        "",
        "1 to 9",
        "same",
        "settle",
        "1 keeps the row as it is here; another number takes over that laptop's row. Who settled it is recorded. "
        "Change the CSV file to match.",
        foot="1 2",
    ),
    Action(
        "set-up.whole-file",
        "f",
        "f",
        "",
        "whole file",
        "A number settles all rows of the file alike; press again for the marked row alone.",
        "whole_file",
        foot="f",
    ),
    Action("set-up.up", "up,minus,subtract", "Up", "-", "up", "The row above.", "mark(-1)"),
    Action("set-up.down", "down,plus,add", "Down", "+", "down", "The row below.", "mark(1)"),
    Action("set-up.back", "escape", "Escape", "", "back", "One step back.", "back", foot="Escape"),
)
"""Keys of set-up rows that differ."""
REGISTER = (
    Action("register.traps", "1", "1", "same", "traps", "The traps, each with its newest hanging.", "view(0)"),
    Action("register.blocks", "2", "2", "same", "blocks", "The blocks.", "view(1)"),
    Action("register.farms", "3", "3", "same", "farms", "The farms.", "view(2)"),
    Action("register.lots", "4", "4", "same", "lots", "The lots of lures.", "view(3)"),
    Action("register.routes", "5", "5", "same", "routes", "The routes, stop by stop as they are walked.", "view(4)"),
    Action("register.next", "v,tab", "v or Tab", "", "next view", "The next of these views.", "view(-1)"),
    Action("register.up", "up,minus,subtract", "Up", "-", "up", "The row above.", "mark(-1)"),
    Action("register.down", "down,plus,add", "Down", "+", "down", "The row below.", "mark(1)"),
    Action("register.page-up", "pageup", "PgUp", "PgUp", "page up", "Ten rows up.", "mark(-10)"),
    Action("register.page-down", "pagedown", "PgDn", "PgDn", "page down", "Ten rows down.", "mark(10)"),
    Action("register.find", "f", "f text", "", "find", "Find a row by its label.", "find"),
    Action("register.add", "a", "a", "", "add", "Add a row to the view.", "add", foot="a"),
    Action(
        "register.edit",
        "enter,ctrl+j,e",
        "Enter or e",
        "Enter",
        "change",
        "Edit the marked row. While ordering a route: keep the order.",
        "edit",
        foot="Enter",
    ),
    Action(
        "register.move",
        "m",
        "m",
        "",
        "move",
        "Move the marked trap to another block, row or tree: a new series begins on that day.",
        "move",
        foot="m",
    ),
    Action("register.take-down", "d", "d", "", "take down", "Take the marked trap down.", "take_down", foot="d"),
    Action(
        "register.restore",
        "r",
        "r",
        "",
        "restore",
        "A trap that is down: strike out the taking down, or hang it again from a day on.",
        "restore",
    ),
    Action(
        "register.no-entry",
        "n",
        "n",
        "",
        "no entry",
        "The day before which nobody enters the marked block.",
        "no_entry",
    ),
    Action(
        "register.last",
        "l",
        "l",
        "",
        "last",
        "A farm: visit it last, or no longer. In the routes: put such farms last; the rest keeps its order.",
        "last",
    ),
    Action(
        "register.carry-up",
        "u,shift+up,slash,divide",
        "u",
        "/",
        "carry up",
        "Carry the marked stop up its route. Enter keeps the order, Escape drops it.",
        "carry(-1)",
    ),
    Action(
        "register.carry-down",
        "j,shift+down,asterisk,multiply",
        "j",
        "*",
        "carry down",
        "Carry the marked stop down its route, likewise.",
        "carry(1)",
    ),
    Action(
        "register.history",
        "h",
        "h",
        "",
        "history",
        "Who changed the marked row, when, from what to what; revert a change there.",
        "history",
        foot="h",
    ),
    Action(
        "register.write",
        "w",
        "w, w",
        "",
        "write files",
        "Write the set-up files from the register; the former files are kept.",
        "write",
    ),
    Action(
        "register.back", "escape", "Escape", "", "back", "Drop an order that is not kept; else one step back.", "back"
    ),
)
"""Keys of the register."""
ROW_HISTORY = (
    Action("row-history.up", "up,minus,subtract", "Up", "-", "up", "The change above.", "mark(-1)"),
    Action("row-history.down", "down,plus,add", "Down", "+", "down", "The change below.", "mark(1)"),
    Action(
        "row-history.put-back",
        "u",
        "u, u",
        "",
        "revert",
        "Revert the marked change and what was recorded with it. That is a further entry; nothing is erased.",
        "put_back",
        foot="u",
    ),
    Action("row-history.back", "escape", "Escape", "", "back", "Back to the register.", "back", foot="Escape"),
)
"""Keys of the history of a row of the register."""
SHEET = (
    Action(
        "sheet.record",
        "enter,ctrl+j",
        "the row, Enter",
        "same",
        "record",
        "Record the row in the notation of paper sheets and go to the next one: 4 l r, 0, xm, 12c n:half under "
        "leaves. On the number pad + is l, * is r, . or , is c, / and 1 to 6 is x and its letter. A blank row is "
        "not left by Enter. Typing over a recorded row is a correction; both stay on record.",
        foot="Enter",
    ),
    Action("sheet.up", "up,minus", "Up", "-", "up", "To the row above; what is typed is recorded first."),
    Action(
        "sheet.down",
        "down",
        "Down",
        "",
        "pass over",
        "To the row below; what is typed is recorded first. Skips a blank row, which is no zero and no entry.",
        foot="Down",
    ),
    Action("sheet.old", "backspace", "Backspace", "", "old text", "On an empty row: edit the recorded entry."),
    Action("sheet.go-to", "g", "g text", "", "go to", "Go to a trap by its label.", foot="g"),
    Action("sheet.day", "d", "d day", "", "day", "The day of this row, and of the blank ones after it.", foot="d"),
    Action("sheet.stage", "f", "f code", "", "stage", "Fruit stage of this row's block, by its two digits."),
    Action("sheet.past", "p", "p", "", "last week", "Show or hide last week's figures.", foot="p"),
    Action("sheet.last", "z", "z", "", "fix", "Back to the row recorded last; Escape goes on.", foot="z"),
    Action(
        "sheet.order",
        "i",
        "i text",
        "",
        "order",
        "Which trap is on this row of the paper: its row moves here. The order is kept for the sheet.",
    ),
    Action("sheet.summary", "s", "s", "", "summary", "Summary so far."),
    Action(
        "sheet.second",
        "v",
        "v",
        "",
        "double entry",
        "Double entry: type the sheet again without seeing the first entry, and back.",
    ),
    Action(
        "sheet.differences", "m", "m", "", "differences", "Where the two keyings disagree, side by side, to be settled."
    ),
    Action("sheet.right", "y", "y", "", "right sheet", "Yes, it is the right sheet."),
    Action(
        "sheet.take-back",
        "u",
        "u, u",
        "",
        "withdraw",
        "Withdraw the rows typed since the sheet was opened, as for a wrong sheet; they stay on record as withdrawn.",
    ),
    Action(
        "sheet.back", "escape", "Escape", "", "back", "One step back; what is typed is dropped on the second press."
    ),
)
"""Keys of a tally sheet. Letters act while nothing is typed on the row; the rest of the time they are marks."""
KEYINGS = (
    Action(
        "keyings.first",
        "1,left",
        "1 or Left",
        "1",
        "first holds",
        "The first entry is right: it stays.",
        "take('first')",
        foot="1",
    ),
    Action(
        "keyings.second",
        "2,right",
        "2 or Right",
        "2",
        "second holds",
        "The second entry is right: the record is corrected.",
        "take('second')",
        foot="2",
    ),
    Action(
        "keyings.neither",
        "n",
        "n",
        "",
        "neither",
        "Neither is right: type the row as the paper has it, then Enter.",
        "neither",
        foot="n",
    ),
    Action(
        "keyings.none",
        "x",
        "x",
        "",
        "no such row",
        "The paper has no such row: an entry on record is withdrawn.",
        "take('none')",
        foot="x",
    ),
    Action("keyings.up", "up", "Up", "-", "up", "The difference above.", "move(-1)"),
    Action("keyings.down", "down", "Down", "", "down", "The difference below.", "move(1)"),
    Action("keyings.back", "escape", "Escape", "", "back", "Back to the sheet.", "back", foot="Escape"),
)
"""Keys of the differences between two keyings."""
ASSEMBLY = (
    Action("assembly.up", "up", "Up", "", "up", "The trap above; while a line is typed too.", "mark(-1)"),
    Action("assembly.down", "down", "Down", "", "down", "The trap below; while a line is typed too.", "mark(1)"),
    Action(
        "assembly.open",
        "enter,ctrl+j",
        "Enter",
        "Enter",
        "assemble",
        "Assemble the marked trap: each part by its label, typed or scanned; Enter goes to the next line.",
        "open",
        foot="Enter",
    ),
    Action("assembly.other", "n", "n", "", "new label", "Assemble a trap that is not listed.", "other", foot="n"),
    Action(
        "assembly.hang",
        "h",
        "h",
        "",
        "hang",
        "Hang the marked assembled trap: block and day.",
        "hang",
        foot="h",
    ),
    Action(
        "assembly.close",
        "c",
        "c",
        "",
        "close of season",
        "Take traps down, store the parts.",
        "close_season",
        foot="c",
    ),
    Action("assembly.back", "escape", "Escape", "", "back", "From the lines to the list; again: back.", "back"),
)
"""Keys of making traps up; letters act while no line is typed."""
SEASON_CLOSE = (
    Action("close.up", "up,minus,subtract", "Up", "-", "up", "The one above.", "mark(-1)"),
    Action("close.down", "down,plus,add", "Down", "+", "down", "The one below.", "mark(1)"),
    Action(
        "close.stored",
        "s",
        "s",
        "",
        "store",
        "The trap is down and its parts are stored; s twice for a contaminated body.",
        "note('stored')",
        foot="s",
    ),
    Action("close.lost", "l", "l", "", "lost", "The trap is gone with its parts.", "note('lost')", foot="l"),
    Action(
        "close.discarded",
        "d",
        "d",
        "",
        "discard",
        "The trap is down and its body discarded; funnel and lid are stored.",
        "note('discarded')",
        foot="d",
    ),
    Action("close.place", "p", "p", "", "place", "Where parts are put away; kept until changed.", "place", foot="p"),
    Action(
        "close.end",
        "w",
        "w",
        "",
        "season's end",
        "Write the season's end, for the programme and every farm, as season-end does.",
        "write_end",
        foot="w",
    ),
    Action("close.back", "escape", "Escape", "", "back", "One step back.", "back", foot="Escape"),
)
"""Keys of the close of a season."""
APP = (
    Action("app.help", "f1,question_mark", "F1 or ?", "", "keys", "These keys.", "app.keys", foot="F1"),
    Action("app.guide", "f2", "F2", "", "guide", "How a round goes, on one page.", "app.guide"),
    Action(
        "app.looks",
        "f4",
        "F4",
        "",
        "looks",
        "Next theme: dark, light, high contrast for the sun. It is kept.",
        "app.looks",
    ),
    Action(
        "app.leave",
        "ctrl+q",
        "ctrl+q",
        "",
        "leave",
        "Leave; everything entered is on the disk.",
        "app.quit",
        foot="ctrl+q",
    ),
)
"""Keys that work everywhere."""
PLACES: tuple[tuple[str, tuple[Action, ...]], ...] = (
    ("In a round", WALK),
    ("At the desk", DESK),
    ("In the summary", SUMMARY),
    ("At the letters", LETTERS),
    ("In a replay", REPLAY),
    ("At open conflicts", CONFLICTS),
    ("At a leaf and fruit check", LOOKS),
    ("At the vials", VIALS),
    ("At set-up rows that differ", SET_UP_ROWS),
    ("Assembling traps", ASSEMBLY),
    ("At the close of a season", SEASON_CLOSE),
    ("In the register", REGISTER),
    ("In the history of a row", ROW_HISTORY),
    ("In the season", SEASON),
    ("At the plan", PLAN),
    ("Year against year", YEARS),
    ("On a tally sheet", SHEET),
    ("In double entry", KEYINGS),
    ("Everywhere", APP),
)
"""All keys, by the place they work in."""


def bindings(actions: Iterable[Action], *, priority: bool = False) -> list[BindingType]:
    """Textual bindings of those actions that are not the count field's own.

    Args:
        actions: Rows of the table.
        priority: Whether they act before the focused widget sees the key.
    """
    from textual.binding import Binding

    return [
        Binding(
            action.keys,
            action.act,
            action.words,
            id=action.id,
            tooltip=action.help,
            show=bool(action.foot),
            priority=priority,
        )
        for action in actions
        if action.act
    ]


def footer(actions: Iterable[Action]) -> str:
    """The few keys that matter, in one line."""
    return "  ".join(f"{action.foot} {action.words}" for action in actions if action.foot)
