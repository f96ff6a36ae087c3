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
    Action("walk.liner", "l,plus,add", "liner", "Liner replaced; again takes it back.", pad="+", foot="l"),
    Action(
        "walk.lure",
        "r,asterisk,multiply",
        "lure",
        "Lure replaced; again takes it back. Asks for the lot only when more than one unexpired lot of the "
        "species exists.",
        pad="*",
        foot="r",
    ),
    Action("walk.any-lure", "f3", "any lure", "Lure replaced: choose from every lot, other species too.", shown="F3"),
    Action("walk.kill-strip", "k", "kill strip", "Kill strip replaced; again takes it back."),
    Action(
        "walk.body",
        "b",
        "body",
        "Trap body replaced: type the new body's label; Enter alone is a clean body, never used.",
    ),
    Action(
        "walk.left-in",
        "c,full_stop,comma,decimal,separator",
        "left in",
        "Moths left in the trap, not cleared.",
        pad=". or ,",
    ),
    Action(
        "walk.no-reading",
        "x,slash,divide",
        "no reading",
        "No reading: s 1 skipped, c 2 closed, m 3 missing, d 4 down, g 5 damaged, o 6 other. Escape or Backspace "
        "calls it off, any other key is refused.",
        shown="x, one letter",
        pad="/, one digit",
        foot="x",
    ),
    Action("walk.others", "o", "others", "Other insects in the trap.", shown="o digits"),
    Action("walk.estimate", "e", "estimate", "The count is an estimate; again takes it back."),
    Action("walk.looks", "a", "leaf, fruit", "A look at leaf and fruit of this block; what is typed stays."),
    Action(
        "walk.treatment",
        "t",
        "treated",
        "A treatment of this block that the grower spoke of: a day, a species and a free word, never advice. What "
        "is typed stays.",
    ),
    Action("walk.grid", "j", "grid", "Estimate the count from some squares of the liner."),
    Action(
        "walk.second-count",
        "u",
        "second count",
        "A second count, of a catch that somebody else counted: it is held against theirs and is never a catch of "
        "its own; again takes it back.",
    ),
    Action(
        "walk.specimen",
        "v",
        "what else",
        "What else was in this trap: a kind by its letter, how many, a vial, and whether they were counted.",
    ),
    Action(
        "walk.note", "n", "note", "A note, to the end of the line; Enter records it with the entry.", shown="n text"
    ),
    Action("walk.found", "w", "wrong lure", "A wrong lure, or none, was found in the trap: choose which."),
    Action("walk.stage", "f", "stage", "Fruit stage of this block, from the whole list."),
    Action(
        "walk.before",
        "up,minus,subtract",
        "look back",
        "Look at the trap before; records nothing, and drops what was typed with a word. With text in the field, "
        "- only says so. While the stage waits, Up and Down change the stage.",
        shown="Up",
        pad="-",
    ),
    Action("walk.after", "down", "look on", "Look at the trap after; as Up.", shown="Down"),
    Action("walk.go-to", "g", "go to", "Go to a trap by its label.", shown="g text"),
    Action(
        "walk.last",
        "z",
        "set right",
        "Back to the entry recorded last, its old value beside the field; Enter on a new one is a correction, and "
        "both stay on record. At a trap that is read already: set that entry right.",
        foot="z",
    ),
    Action("walk.summary", "s", "summary", "Summary so far.", foot="s"),
    Action("walk.back", "escape", "back", "One step back; never loses a count at once.", shown="Escape"),
)
"""Keys of a round."""
SHEET = (
    Action(
        "sheet.record",
        "enter,ctrl+j",
        "record",
        "Record the row in the notation of paper sheets and go to the next one: 4 l r, 0, xm, 12c n:half under "
        "leaves. On the number pad + is l, * is r, . or , is c, / and 1 to 6 is x and its letter. A blank row "
        "stays, and says so. Typed over what stands, it is a correction, and both stay on record.",
        shown="the row, Enter",
        pad="same",
        foot="Enter",
    ),
    Action("sheet.up", "up,minus", "up", "To the row above; what is typed is recorded first.", shown="Up", pad="-"),
    Action(
        "sheet.down",
        "down",
        "pass over",
        "To the row below; what is typed is recorded first. Passes over a blank row, which is no zero and no entry.",
        shown="Down",
        foot="Down",
    ),
    Action(
        "sheet.old", "backspace", "old text", "On a row with nothing typed: what stands, to edit.", shown="Backspace"
    ),
    Action("sheet.go-to", "g", "go to", "Go to a trap by its label.", shown="g text", foot="g"),
    Action("sheet.day", "d", "day", "The day of this row, and of the blank ones after it.", shown="d day", foot="d"),
    Action("sheet.stage", "f", "stage", "Fruit stage of this row's block, by its two digits.", shown="f code"),
    Action("sheet.past", "p", "last week", "Last week's figures beside the rows, and away again.", foot="p"),
    Action("sheet.last", "z", "set right", "Back to the row recorded last; Escape goes on.", foot="z"),
    Action(
        "sheet.order",
        "i",
        "order",
        "Which trap stands on this row of the paper: its row moves here. The order is kept for the sheet.",
        shown="i text",
    ),
    Action("sheet.summary", "s", "summary", "Summary so far."),
    Action(
        "sheet.second", "v", "second keying", "Key the sheet a second time without sight of the first, and back again."
    ),
    Action("sheet.differences", "m", "differences", "Where the two keyings disagree, side by side, to be settled."),
    Action("sheet.right", "y", "right sheet", "Answers the question whether it is the right sheet: it is."),
    Action(
        "sheet.take-back",
        "u",
        "take back",
        "Take back the rows keyed in this sitting, as when it was the wrong sheet; they stay on record as taken back.",
        shown="u, u",
    ),
    Action(
        "sheet.back", "escape", "back", "One step back; what is typed is dropped on the second only.", shown="Escape"
    ),
)
"""Keys of a tally sheet. Letters act while nothing is typed on the row; the rest of the time they are marks."""
KEYINGS = (
    Action(
        "keyings.first",
        "1,left",
        "first holds",
        "The first keying is right: what stands goes on standing.",
        "take('first')",
        shown="1 or Left",
        pad="1",
        foot="1",
    ),
    Action(
        "keyings.second",
        "2,right",
        "second holds",
        "The second keying is right; what stands on record is corrected.",
        "take('second')",
        shown="2 or Right",
        pad="2",
        foot="2",
    ),
    Action(
        "keyings.neither",
        "n",
        "neither",
        "Neither is right: type the row as the paper has it, then Enter.",
        "neither",
        foot="n",
    ),
    Action(
        "keyings.none",
        "x",
        "no such row",
        "The paper has no such row; an entry that stands is taken back.",
        "take('none')",
        foot="x",
    ),
    Action("keyings.up", "up", "up", "The difference above.", "move(-1)", shown="Up", pad="-"),
    Action("keyings.down", "down", "down", "The difference below.", "move(1)", shown="Down"),
    Action("keyings.back", "escape", "back", "Back to the sheet.", "back", shown="Escape", foot="Escape"),
)
"""Keys of the differences between two keyings."""
LOOKS = (
    Action(
        "looks.enter",
        "enter,ctrl+j",
        "looked at",
        "So many were looked at; without digits the plan's number, as it says. Then the verdict stands: stop, or "
        "how many more. Enter again records, or goes on to the next stop of the plan.",
        shown="digits, Enter",
        pad="same",
        foot="Enter",
    ),
    Action(
        "looks.found", "f,plus,add", "found", "One more unit with it; of fruit one more injured.", pad="+", foot="f"
    ),
    Action(
        "looks.each",
        "m",
        "how many on it",
        "One more unit with it, and how many animals or mines are on it.",
        shown="m digits",
        pad="* on leaves",
    ),
    Action("looks.entry", "e", "entry", "One more fruit with an entry.", pad="* on fruit"),
    Action(
        "looks.sting",
        "g",
        "sting",
        "One more fruit with a sting only, which is not among the injured.",
        pad="/ on fruit",
    ),
    Action("looks.other", "o", "other", "One more fruit with another injury.", pad="- on fruit"),
    Action(
        "looks.take-back",
        "backspace",
        "take back",
        "Takes the last back.",
        shown="Backspace",
        pad="same",
        foot="Backspace",
    ),
    Action("looks.record", "r", "record", "Record as it stands, the plan finished or not."),
    Action("looks.plan", "p", "plan", "The next plan in print for this, or none.", foot="p"),
    Action("looks.predators", "b", "predators", "Units with a predator or parasite.", shown="b digits"),
    Action("looks.trees", "t", "trees", "Trees it is spread over.", shown="t digits"),
    Action("looks.grade", "v", "grade", "Severity: 0 absent to 5 severe.", shown="v, a digit"),
    Action("looks.place", "w", "place", "Where in the block.", shown="w text"),
    Action(
        "looks.note",
        "n",
        "note",
        "A note; in the list of what to look for: something that is not on it.",
        shown="n text",
    ),
    Action(
        "looks.give-up",
        "x",
        "give up",
        "In the list: give up a look that was begun. Otherwise it stays, even through a crash.",
        shown="x, x",
    ),
    Action(
        "looks.set-right",
        "z",
        "set right",
        "In the list: the look of yours recorded last in this block today, to be set right; both stay on record.",
    ),
    Action("looks.up", "up,minus,subtract", "up", "In a list: the line above.", shown="Up", pad="-"),
    Action("looks.down", "down,plus,add", "down", "In a list: the line below.", shown="Down", pad="+"),
    Action("looks.back", "escape", "back", "One step back; what was counted is kept.", shown="Escape", foot="Escape"),
)
"""Keys of a look at leaf and fruit."""
VIALS = (
    Action(
        "vials.name",
        "enter,ctrl+j,n",
        "name it",
        "Say what is in the marked vial, or in one whose number is typed. What that changes in counts, figures "
        "and letters is said before it is accepted; named again, the former name no longer holds.",
        "name",
        shown="Enter or n",
        pad="Enter",
        foot="Enter",
    ),
    Action("vials.every", "a", "all", "Those of the season that are named already as well.", "every", foot="a"),
    Action("vials.up", "up,minus,subtract", "up", "The vial above.", "mark(-1)", shown="Up", pad="-"),
    Action("vials.down", "down,plus,add", "down", "The vial below.", "mark(1)", shown="Down", pad="+"),
    Action("vials.back", "escape", "back", "One step back.", "back", shown="Escape", foot="Escape"),
)
"""Keys of the vials."""
