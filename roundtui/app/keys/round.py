"""Keys of the places where a round is entered: walk, sheet, double entry, samples, vials."""

from __future__ import annotations

from roundtui.app.keys import Action

WALK = (
    Action(
        "walk.record",
        "enter,ctrl+j",
        "record",
        "Record the count and go to the next trap.",
        shown="digits, Enter",
        pad="same",
        foot="Enter",
    ),
    Action("walk.liner", "l,plus,add", "liner", "Liner replaced; press again to undo.", pad="+", foot="l"),
    Action(
        "walk.lure",
        "r,asterisk,multiply",
        "lure",
        "Lure replaced; press again to undo. It names the lot it takes; F3 chooses another.",
        pad="*",
        foot="r",
    ),
    Action("walk.any-lure", "f3", "any lure", "Lure replaced: choose from every lot, other species too.", shown="F3"),
    Action("walk.kill-strip", "k", "kill strip", "Kill strip replaced; press again to undo."),
    Action(
        "walk.body",
        "b",
        "body",
        "Trap body replaced: type the new body's label; Enter alone is a clean body, never used.",
    ),
    Action(
        "walk.left-in",
        "c,full_stop,comma,decimal,separator",
        "not cleared",
        "Moths left in the trap, not cleared.",
        pad=". or ,",
    ),
    Action(
        "walk.no-reading",
        "x,slash,divide",
        "not read",
        "Not read: s 1 skipped, c 2 closed, m 3 missing, d 4 down, g 5 damaged, o 6 other. Escape or Backspace "
        "cancels, any other key is refused.",
        shown="x, one letter",
        pad="/, one digit",
        foot="x",
    ),
    Action("walk.others", "o", "others", "Other insects in the trap.", shown="o digits"),
    Action("walk.estimate", "e", "estimate", "The count is an estimate; press again to undo."),
    Action("walk.samples", "a", "leaf, fruit", "Leaf and fruit check of this block; what is typed stays."),
    Action(
        "walk.treatment",
        "t",
        "treated",
        "A spray that the grower reports: a day, a species and the grower's words. What is typed stays.",
    ),
    Action("walk.grid", "j", "grid", "Estimate the count from some squares of the liner."),
    Action(
        "walk.second-count",
        "u",
        "recount",
        "A recount of a catch that somebody else counted. It is compared with theirs and is no catch of its own; "
        "press again to undo.",
    ),
    Action(
        "walk.specimen",
        "v",
        "other catch",
        "Other catch in this trap: a kind by its letter, how many, a vial, and whether they were counted.",
    ),
    Action(
        "walk.note",
        "n",
        "note",
        "A note, to the end of the line; grower: first sends it to the grower.",
        shown="n text",
    ),
    Action("walk.found", "w", "wrong lure", "A wrong lure, or none, was found in the trap: choose which."),
    Action("walk.stage", "f", "stage", "Fruit stage of this block, from the whole list."),
    Action(
        "walk.before",
        "up,minus,subtract",
        "trap before",
        "Show the trap before. Records nothing; what was typed is dropped, with a message. With text in the "
        "field, - does nothing. At the fruit stage, Up and Down change the stage.",
        shown="Up",
        pad="-",
    ),
    Action("walk.after", "down", "next trap", "Show the trap after, as Up.", shown="Down"),
    Action("walk.go-to", "g", "go to", "Go to a trap by its label.", shown="g text"),
    Action(
        "walk.last",
        "z",
        "fix",
        "Fix the last entry, or that of a trap already read. Its old value is beside the field; a new value and "
        "Enter is a correction, and both stay on record.",
        foot="z",
    ),
    Action("walk.summary", "s", "summary", "Summary so far.", foot="s"),
    Action(
        "walk.back", "escape", "back", "One step back; a typed count is lost on the second press only.", shown="Escape"
    ),
)
"""Keys of a round."""
SHEET = (
    Action(
        "sheet.record",
        "enter,ctrl+j",
        "record",
        "Record the row in the notation of paper sheets and go to the next one: 4 l r, 0, xm, 12c n:half under "
        "leaves. On the number pad + is l, * is r, . or , is c, / and 1 to 6 is x and its letter. A blank row is "
        "not left by Enter. Typing over a recorded row is a correction; both stay on record.",
        shown="the row, Enter",
        pad="same",
        foot="Enter",
    ),
    Action("sheet.up", "up,minus", "up", "To the row above; what is typed is recorded first.", shown="Up", pad="-"),
    Action(
        "sheet.down",
        "down",
        "pass over",
        "To the row below; what is typed is recorded first. Skips a blank row, which is no zero and no entry.",
        shown="Down",
        foot="Down",
    ),
    Action("sheet.old", "backspace", "old text", "On an empty row: edit the recorded entry.", shown="Backspace"),
    Action("sheet.go-to", "g", "go to", "Go to a trap by its label.", shown="g text", foot="g"),
    Action("sheet.day", "d", "day", "The day of this row, and of the blank ones after it.", shown="d day", foot="d"),
    Action("sheet.stage", "f", "stage", "Fruit stage of this row's block, by its two digits.", shown="f code"),
    Action("sheet.past", "p", "last week", "Show or hide last week's figures.", foot="p"),
    Action("sheet.last", "z", "fix", "Back to the row recorded last; Escape goes on.", foot="z"),
    Action(
        "sheet.order",
        "i",
        "order",
        "Which trap is on this row of the paper: its row moves here. The order is kept for the sheet.",
        shown="i text",
    ),
    Action("sheet.summary", "s", "summary", "Summary so far."),
    Action(
        "sheet.second",
        "v",
        "double entry",
        "Double entry: type the sheet again without seeing the first entry, and back.",
    ),
    Action("sheet.differences", "m", "differences", "Where the double entry disagree, side by side, to be settled."),
    Action("sheet.right", "y", "right sheet", "Yes, it is the right sheet."),
    Action(
        "sheet.withdraw",
        "u",
        "withdraw",
        "Withdraw the rows typed since the sheet was opened, as for a wrong sheet; they stay on record as withdrawn.",
        shown="u, u",
    ),
    Action(
        "sheet.back", "escape", "back", "One step back; what is typed is dropped on the second press.", shown="Escape"
    ),
)
"""Keys of a tally sheet. Letters act while nothing is typed on the row; the rest of the time they are marks."""
DOUBLE_ENTRY = (
    Action(
        "entries.first",
        "1,left",
        "first holds",
        "The first entry is right: it stays.",
        "take('first')",
        shown="1 or Left",
        pad="1",
        foot="1",
    ),
    Action(
        "entries.second",
        "2,right",
        "second holds",
        "The second entry is right: the record is corrected.",
        "take('second')",
        shown="2 or Right",
        pad="2",
        foot="2",
    ),
    Action(
        "entries.neither",
        "n",
        "neither",
        "Neither is right: type the row as the paper has it, then Enter.",
        "neither",
        foot="n",
    ),
    Action(
        "entries.none",
        "x",
        "no such row",
        "The paper has no such row: an entry on record is withdrawn.",
        "take('none')",
        foot="x",
    ),
    Action("entries.up", "up", "up", "The difference above.", "move(-1)", shown="Up", pad="-"),
    Action("entries.down", "down", "down", "The difference below.", "move(1)", shown="Down"),
    Action("entries.back", "escape", "back", "Back to the sheet.", "back", shown="Escape", foot="Escape"),
)
"""Keys of the differences between double entry."""
SAMPLES = (
    Action(
        "samples.enter",
        "enter,ctrl+j",
        "checked",
        "How many were checked; without digits the plan's number. Then the verdict shows: stop, or how many more. "
        "Enter again saves, or goes on to the plan's next stop.",
        shown="digits, Enter",
        pad="same",
        foot="Enter",
    ),
    Action(
        "samples.found", "f,plus,add", "found", "One more infested unit; of fruit, one more injured.", pad="+", foot="f"
    ),
    Action(
        "samples.each",
        "m",
        "how many on it",
        "One more infested unit, and how many animals or mines are on it.",
        shown="m digits",
        pad="* on leaves",
    ),
    Action("samples.entry", "e", "entry", "One more fruit with an entry.", pad="* on fruit"),
    Action(
        "samples.sting", "g", "sting", "One more fruit with a sting only, not counted as injured.", pad="/ on fruit"
    ),
    Action("samples.other", "o", "other", "One more fruit with another injury.", pad="- on fruit"),
    Action(
        "samples.withdraw",
        "backspace",
        "withdraw",
        "Undoes the last key.",
        shown="Backspace",
        pad="same",
        foot="Backspace",
    ),
    Action("samples.record", "r", "record", "Save as it is, the plan finished or not."),
    Action("samples.plan", "p", "plan", "The next published plan for this, or none.", foot="p"),
    Action("samples.predators", "b", "predators", "Units with a predator or parasite.", shown="b digits"),
    Action("samples.trees", "t", "trees", "Number of trees sampled.", shown="t digits"),
    Action("samples.grade", "v", "grade", "Severity: 0 absent to 5 severe.", shown="v, a digit"),
    Action("samples.place", "w", "place", "Where in the block.", shown="w text"),
    Action("samples.note", "n", "note", "A note. In the list: a pest that is not on it.", shown="n text"),
    Action(
        "samples.give-up",
        "x",
        "discard",
        "In the list: discard a sample under way. Otherwise it is kept, even through a crash.",
        shown="x, x",
    ),
    Action(
        "samples.correct",
        "z",
        "fix",
        "In the list: correct your last sample of this block today; both stay on record.",
    ),
    Action("samples.up", "up,minus,subtract", "up", "In a list: the line above.", shown="Up", pad="-"),
    Action("samples.down", "down,plus,add", "down", "In a list: the line below.", shown="Down", pad="+"),
    Action("samples.back", "escape", "back", "One step back; what was counted is kept.", shown="Escape", foot="Escape"),
)
"""Keys of a leaf and fruit sample."""
VIALS = (
    Action(
        "vials.name",
        "enter,ctrl+j,n",
        "identify",
        "Identify the marked vial, or one whose number you type. What that changes in counts, figures and letters "
        "is shown first. A new name replaces the one before.",
        "name",
        shown="Enter or n",
        pad="Enter",
        foot="Enter",
    ),
    Action("vials.every", "a", "all", "Show the identified ones of the season too.", "every", foot="a"),
    Action("vials.up", "up,minus,subtract", "up", "The vial above.", "mark(-1)", shown="Up", pad="-"),
    Action("vials.down", "down,plus,add", "down", "The vial below.", "mark(1)", shown="Down", pad="+"),
    Action("vials.back", "escape", "back", "One step back.", "back", shown="Escape", foot="Escape"),
)
"""Keys of the vials."""
