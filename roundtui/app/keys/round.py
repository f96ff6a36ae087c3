"""Keys of the places where a round is entered: walk, sheet, double entry, samples, vials."""

from __future__ import annotations

from roundtui.app.keys import table

WALK = table(
    "walk",
    """
record; enter; record; shown=digits, Enter; pad=same; foot=Enter
  Record the count and go to the next trap.
liner; l,plus,add; liner; pad=+
  Liner replaced; press again to undo.
lure; r,asterisk,multiply; lure; pad=*
  Lure replaced; press again to undo. It names the lot it takes; m 4 chooses another.
kill-strip; k; kill strip
  Kill strip replaced; press again to undo.
body; b; body
  Trap body replaced: type the new body's label; Enter alone is a clean body, never used.
left-in; c,full_stop,comma,decimal,separator; not cleared; pad=. or ,
  Moths left in the trap, not cleared.
no-reading; x,slash,divide; not read; shown=x, one letter; pad=/, one digit; foot=x
  Not read: s 1 skipped, c 2 closed, m 3 missing, d 4 down, g 5 damaged, o 6 other; f 7: the rest of this farm is
  closed, one press of Enter for all its traps. Escape or Backspace cancels, any other key is refused.
others; o; others; shown=o digits
  Other insects in the trap.
females; h; females; shown=h digits
  Females among the count.
estimate; e; estimate
  The count is an estimate; press again to undo.
note; n; note; shown=n text
  A note, to the end of the line; grower: first sends it to the grower.
found; w; wrong lure; foot=w
  A wrong lure, or none, was found in the trap: choose which.
stage; f; stage; foot=f
  Fruit stage of this block, from the whole list.
samples; a; leaf, fruit; foot=a
  Leaf and fruit check of this block; what is typed stays.
treatment; t; spray reported
  A spray that the grower reports: a day, a species and the grower's words. What is typed stays.
summary; s; summary; foot=s
  Summary so far.
before; up,minus,subtract; look at others; shown=Up; pad=-; move=↑↓
  Show the trap before. Records nothing; what was typed is dropped, with a message. With text in the field, - does
  nothing. At the fruit stage, Up and Down change the stage.
after; down; next trap; shown=Down
  Show the trap after, as Up.
last; z; fix; move=z
  Fix the entry of this trap if it has one, else the entry recorded last. Its old value is beside the field; a new
  value and Enter is a correction, and both stay on record.
withdraw; u; withdraw
  After z: withdraw the entry shown; where its farm was closed, that of all its traps. It is asked first.
go-to; g; go to; shown=g text; move=g
  Go to a trap by its label.
second-count; menu-1; recount; menu=1
  A recount of a catch that somebody else counted. It is compared with theirs and is no catch of its own; choose it
  again to undo.
specimen; menu-2; other catch, vial; menu=2
  Other catch in this trap: a kind by its letter, how many, a vial, and whether they were counted.
grid; menu-3; from squares; menu=3
  Estimate the count from some squares of the liner.
any-lure; menu-4; another lot; menu=4
  Lure replaced: choose from every lot, other species too.
back; escape; back; shown=Escape
  One step back; a typed count is lost on the second press only.
""",
)
"""Keys of a round."""
SHEET = table(
    "sheet",
    """
record; enter; record; shown=the row, Enter; pad=same; foot=Enter
  Record the row in the notation of paper sheets and go to the next one: 4 l r, 0, xm, 12c n:half under leaves. On the
  number pad + is l, * is r, . or , is c, / and 1 to 6 is x and its letter. A blank row is not left by Enter. Typing
  over a recorded row is a correction; both stay on record.
up; up,minus; row; shown=Up; pad=-; move=↑↓
  To the row above; what is typed is recorded first.
down; down; pass over; shown=Down; foot=↓
  To the row below; what is typed is recorded first. Skips a blank row, which is no zero and no entry.
day; d; day; shown=d day; foot=d
  The day of this row, and of the blank ones after it.
stage; f; stage; shown=f code; foot=f
  Fruit stage of this row's block, by its two digits.
second; v; double entry; foot=v
  Double entry: type the sheet again without seeing the first entry, and back.
summary; s; summary; foot=s
  Summary so far.
last; z; fix last; move=z
  Back to the row recorded last; Escape goes on.
go-to; g; go to; shown=g text; move=g
  Go to a trap by its label.
old; backspace; old text; shown=Backspace
  On an empty row: edit the recorded entry.
right; y; right sheet
  Yes, it is the right sheet.
differences; menu-1; differences; menu=1
  Where the two entries disagree, side by side, to be settled.
order; menu-2; order of the rows; menu=2; was=i
  Which trap is on this row of the paper: its row moves here. The order is kept for the sheet.
withdraw; menu-3; withdraw; menu=3; was=u
  Withdraw the rows typed since the sheet was opened, as for a wrong sheet; they stay on record as withdrawn.
past; menu-4; last week; menu=4; was=p
  Show or hide last week's figures.
back; escape; back; shown=Escape
  One step back; what is typed is dropped on the second press.
""",
)
"""Keys of a tally sheet. Letters act while nothing is typed on the row; the rest of the time they are marks."""
DOUBLE_ENTRY = table(
    "entries",
    """
first; 1,left; first holds; act=take('first'); shown=1 or Left; pad=1; foot=1
  The first entry is right: it stays.
second; 2,right; second holds; act=take('second'); shown=2 or Right; pad=2; foot=2
  The second entry is right: the record is corrected. What that changes is asked first.
neither; 3; neither; act=neither; pad=3; foot=3; was=n
  Neither is right: type the row as the paper has it, then Enter.
none; x; no such row; act=take('none'); foot=x
  The paper has no such row: an entry on record is withdrawn. It is asked first.
mark; The difference
back; escape; back; act=back; shown=Escape
  Back to the sheet.
""",
)
"""Keys of the differences between two entries of a sheet."""
SAMPLES = table(
    "samples",
    """
enter; enter; checked; shown=digits, Enter; pad=same; foot=Enter
  How many were checked. Then the verdict shows: stop, or how many more. Enter again saves, or goes on to the plan's
  next stop.
found; f,plus,add; found; pad=+; foot=f
  One more infested unit; of fruit, one more injured.
each; h; how many on it; shown=h digits; pad=* on leaves
  One more infested unit, and how many animals or mines are on it.
entry; e; entry; pad=* on fruit
  One more fruit with an entry.
sting; j; sting; pad=/ on fruit
  One more fruit with a sting only, not counted as injured.
other; o; other; pad=- on fruit
  One more fruit with another injury.
withdraw; backspace; undo; shown=Backspace; pad=same; foot=Backspace
  Undoes the last key.
note; n; note; shown=n text; foot=n
  A note. In the list: a pest that is not on it.
give-up; x; discard
  In the list: discard a sample under way; it is asked first. Otherwise it is kept, even through a crash.
correct; z; fix
  In the list: correct your last sample of this block today; both stay on record.
up; up,minus,subtract; mark; shown=Up; pad=-; move=↑↓
  In a list: the line above.
down; down,plus,add; down; shown=Down; pad=+
  In a list: the line below.
record; menu-1; save as it is; menu=1; was=r
  Save as it is, the plan finished or not.
plan; menu-2; next plan; menu=2; was=p
  The next published plan for this, or none.
predators; menu-3; predators; menu=3; was=b
  Units with a predator or parasite.
trees; menu-4; trees; menu=4; was=t
  Number of trees sampled.
grade; menu-5; severity; menu=5; was=v
  Severity: 0 absent to 5 severe.
place; menu-6; where; menu=6; was=w
  Where in the block.
back; escape; back; shown=Escape
  One step back; what was counted is kept.
""",
)
"""Keys of a leaf and fruit check."""
VIALS = table(
    "vials",
    """
name; enter; identify; act=identify; shown=Enter; pad=Enter; foot=Enter
  Identify the marked vial, or one whose number you type. What that changes in counts, figures and letters is shown
  first. A new name replaces the one before.
every; tab; to identify or all; act=every; shown=Tab; move=Tab; was=a
  Show the identified ones of the season too.
mark; The vial
back
""",
)
"""Keys of the vials."""
