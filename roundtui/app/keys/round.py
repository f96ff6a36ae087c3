"""Keys of the places where a round is entered: walk, sheet, double entry, samples, vials."""

from __future__ import annotations

from roundtui.app.keys import Action, back, marks

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
    Action("walk.liner", "l,plus,add", "liner", "Liner replaced; press again to undo.", pad="+"),
    Action(
        "walk.lure",
        "r,asterisk,multiply",
        "lure",
        "Lure replaced; press again to undo. It names the lot it takes; m 4 chooses another.",
        pad="*",
    ),
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
    Action("walk.females", "h", "females", "Females among the count.", shown="h digits"),
    Action("walk.estimate", "e", "estimate", "The count is an estimate; press again to undo."),
    Action(
        "walk.note", "n", "note", "A note, to the end of the line; Enter records it with the entry.", shown="n text"
    ),
    Action("walk.found", "w", "wrong lure", "A wrong lure, or none, was found in the trap: choose which.", foot="w"),
    Action("walk.stage", "f", "stage", "Fruit stage of this block, from the whole list.", foot="f"),
    Action("walk.samples", "a", "leaf, fruit", "Leaf and fruit check of this block; what is typed stays.", foot="a"),
    Action(
        "walk.treatment",
        "t",
        "spray reported",
        "A spray that the grower reports: a day, a species and the grower's words. What is typed stays.",
    ),
    Action("walk.summary", "s", "summary", "Summary so far.", foot="s"),
    Action(
        "walk.before",
        "up,minus,subtract",
        "look at others",
        "Show the trap before. Records nothing; what was typed is dropped, with a message. With text in the "
        "field, - does nothing. At the fruit stage, Up and Down change the stage.",
        shown="Up",
        pad="-",
        move="↑↓",
    ),
    Action("walk.after", "down", "next trap", "Show the trap after, as Up.", shown="Down"),
    Action(
        "walk.last",
        "z",
        "fix",
        "Fix the entry of this trap if it has one, else the entry recorded last. Its old value is beside the field; a "
        "new value and Enter is a correction, and both stay on record.",
        move="z",
    ),
    Action("walk.go-to", "g", "go to", "Go to a trap by its label.", shown="g text", move="g"),
    Action(
        "walk.second-count",
        "menu-1",
        "recount",
        "A recount of a catch that somebody else counted. It is compared with theirs and is no catch of its own; "
        "choose it again to undo.",
        menu=1,
    ),
    Action(
        "walk.specimen",
        "menu-2",
        "other catch, vial",
        "Other catch in this trap: a kind by its letter, how many, a vial, and whether they were counted.",
        menu=2,
    ),
    Action("walk.grid", "menu-3", "from squares", "Estimate the count from some squares of the liner.", menu=3),
    Action(
        "walk.any-lure",
        "menu-4",
        "another lot",
        "Lure replaced: choose from every lot, other species too.",
        menu=4,
    ),
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
    Action(
        "sheet.up",
        "up,minus",
        "row",
        "To the row above; what is typed is recorded first.",
        shown="Up",
        pad="-",
        move="↑↓",
    ),
    Action(
        "sheet.down",
        "down",
        "pass over",
        "To the row below; what is typed is recorded first. Skips a blank row, which is no zero and no entry.",
        shown="Down",
        foot="↓",
    ),
    Action("sheet.day", "d", "day", "The day of this row, and of the blank ones after it.", shown="d day", foot="d"),
    Action(
        "sheet.stage", "f", "stage", "Fruit stage of this row's block, by its two digits.", shown="f code", foot="f"
    ),
    Action(
        "sheet.second",
        "v",
        "double entry",
        "Double entry: type the sheet again without seeing the first entry, and back.",
        foot="v",
    ),
    Action("sheet.summary", "s", "summary", "Summary so far.", foot="s"),
    Action("sheet.last", "z", "fix last", "Back to the row recorded last; Escape goes on.", move="z"),
    Action("sheet.go-to", "g", "go to", "Go to a trap by its label.", shown="g text", move="g"),
    Action("sheet.old", "backspace", "old text", "On an empty row: edit the recorded entry.", shown="Backspace"),
    Action("sheet.right", "y", "right sheet", "Yes, it is the right sheet."),
    Action(
        "sheet.differences",
        "menu-1",
        "differences",
        "Where the two entries disagree, side by side, to be settled.",
        menu=1,
    ),
    Action(
        "sheet.order",
        "menu-2",
        "order of the rows",
        "Which trap is on this row of the paper: its row moves here. The order is kept for the sheet.",
        menu=2,
        was="i",
    ),
    Action(
        "sheet.take-back",
        "menu-3",
        "withdraw",
        "Withdraw the rows typed since the sheet was opened, as for a wrong sheet; they stay on record as withdrawn.",
        menu=3,
        was="u",
    ),
    Action("sheet.past", "menu-4", "last week", "Show or hide last week's figures.", menu=4, was="p"),
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
        "The second entry is right: the record is corrected. What that changes is asked first.",
        "take('second')",
        shown="2 or Right",
        pad="2",
        foot="2",
    ),
    Action(
        "entries.neither",
        "3",
        "neither",
        "Neither is right: type the row as the paper has it, then Enter.",
        "neither",
        pad="3",
        foot="3",
        was="n",
    ),
    Action(
        "entries.none",
        "x",
        "no such row",
        "The paper has no such row: an entry on record is withdrawn. It is asked first.",
        "take('none')",
        foot="x",
    ),
    *marks("entries", "difference"),
    back("entries", "Back to the sheet."),
)
"""Keys of the differences between two entries of a sheet."""
SAMPLES = (
    Action(
        "samples.enter",
        "enter,ctrl+j",
        "checked",
        "How many were checked. Then the verdict shows: stop, or how many more. Enter again saves, or goes on to the "
        "plan's next stop.",
        shown="digits, Enter",
        pad="same",
        foot="Enter",
    ),
    Action(
        "samples.found", "f,plus,add", "found", "One more infested unit; of fruit, one more injured.", pad="+", foot="f"
    ),
    Action(
        "samples.each",
        "h",
        "how many on it",
        "One more infested unit, and how many animals or mines are on it.",
        shown="h digits",
        pad="* on leaves",
    ),
    Action("samples.entry", "e", "entry", "One more fruit with an entry.", pad="* on fruit"),
    Action(
        "samples.sting", "j", "sting", "One more fruit with a sting only, not counted as injured.", pad="/ on fruit"
    ),
    Action("samples.other", "o", "other", "One more fruit with another injury.", pad="- on fruit"),
    Action(
        "samples.take-back",
        "backspace",
        "undo",
        "Undoes the last key.",
        shown="Backspace",
        pad="same",
        foot="Backspace",
    ),
    Action("samples.note", "n", "note", "A note. In the list: a pest that is not on it.", shown="n text", foot="n"),
    Action(
        "samples.give-up",
        "x",
        "discard",
        "In the list: discard a sample under way; it is asked first. Otherwise it is kept, even through a crash.",
    ),
    Action(
        "samples.set-right",
        "z",
        "fix",
        "In the list: correct your last sample of this block today; both stay on record.",
    ),
    Action(
        *("samples.up", "up,minus,subtract", "mark", "In a list: the line above."),
        shown="Up",
        pad="-",
        move="↑↓",
    ),
    Action("samples.down", "down,plus,add", "down", "In a list: the line below.", shown="Down", pad="+"),
    Action("samples.record", "menu-1", "save as it is", "Save as it is, the plan finished or not.", menu=1, was="r"),
    Action("samples.plan", "menu-2", "next plan", "The next published plan for this, or none.", menu=2, was="p"),
    Action("samples.predators", "menu-3", "predators", "Units with a predator or parasite.", menu=3, was="b"),
    Action("samples.trees", "menu-4", "trees", "Number of trees sampled.", menu=4, was="t"),
    Action("samples.grade", "menu-5", "severity", "Severity: 0 absent to 5 severe.", menu=5, was="v"),
    Action("samples.place", "menu-6", "where", "Where in the block.", menu=6, was="w"),
    Action("samples.back", "escape", "back", "One step back; what was counted is kept.", shown="Escape"),
)
"""Keys of a leaf and fruit check."""
VIALS = (
    Action(
        "vials.name",
        "enter,ctrl+j",
        "identify",
        "Identify the marked vial, or one whose number you type. What that changes in counts, figures and letters "
        "is shown first. A new name replaces the one before.",
        "identify",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    Action(
        *("vials.every", "tab", "to identify or all", "Show the identified ones of the season too.", "every"),
        shown="Tab",
        move="Tab",
        was="a",
    ),
    *marks("vials", "vial"),
    back("vials"),
)
"""Keys of the vials."""
