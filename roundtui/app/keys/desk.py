"""Keys of the desk and of the places where a round is read: summary, letters, replay, conflicts; and those of all."""

from __future__ import annotations

from roundtui.app.keys import table

DESK = table(
    "desk",
    """
open; enter; open; act=open; shown=Enter; pad=Enter; foot=Enter
  Open the marked round, at first the first one due; of another list what the marked row is about.
mark; The row
part; tab; next list; act=part; shown=Tab; move=Tab
  The next list: the rounds, the week, what needs attention, what is due, what comes.
summary; s; summary; act=place('summary'); shown=s; foot=s; place=summary
  Summary of all blocks.
sheet; t; tally sheet; act=place('sheet'); shown=t; foot=t; place=sheet
  The paper sheet of the marked round, typed in.
replay; r; replay; act=place('replay'); shown=r; place=replay
  The newest round of the marked route, entry by entry.
season; d; season; act=place('season'); shown=d; foot=d; place=season
  Catch curves, degree-days, biofix and events.
sample; a; leaf and fruit; act=place('sample'); shown=a; place=sample
  Leaf and fruit check of a block, those of the marked round first.
plan; n; season plan; act=place('plan'); shown=n; place=plan
  Plan of the season: hanging, packing, lures in stock, labels.
letters; l; letters; act=place('letters'); shown=l; foot=l; place=letters
  Letters to the growers: read, note, write.
register; e; traps and blocks; act=place('register'); shown=e; place=register
  Farms, blocks, traps, lots and routes, and who changed them.
assembly; u; assemble traps; act=place('assembly'); shown=u; place=assembly
  Assemble traps: body, funnel, lid and lure by label.
season_close; c; end of season; act=place('season_close'); shown=c; place=season_close
  Take traps down, put the parts away.
bring; b; bring a table; act=place('bring'); shown=b; place=bring
  Bring a table of your own: set-up, counts or weather.
conflicts; ; conflicts; shown=m o; place=conflicts
  Entries that contradict each other.
vials; ; vials; shown=m v; place=vials
  Vials to identify.
question; q; question; act=question
  The entry with the newest open question.
""",
)
"""Keys of the desk."""
PLACES = {action.shown.removeprefix("m "): action for action in DESK if action.place}
"""What the menu leads to, by letter."""
BRING = table(
    "bring",
    """
go-on; enter; go on; act=go_on; shown=Enter; pad=Enter; foot=Enter
  Answer what is asked; then write what was read, which asks once more.
file; f; file; act=file; foot=f
  Name a file, and what it holds.
up; up,minus,subtract; read; act=scroll(-5); shown=Up; pad=-; move=↑↓
  Read upward.
down; down,plus,add; down; act=scroll(5); shown=Down; pad=+
  Read on.
back; escape; back; act=back; shown=Escape
  One step back, once all is written.
""",
)
"""Keys where a table is brought."""
SUMMARY = table(
    "summary",
    """
season; enter; open; act=season; shown=Enter; foot=Enter
  Season of the marked block; in the list of calls the call to the marked grower.
next-view; tab; view; act=show(-1); shown=Tab; move=Tab
  Blocks, calls, or the whole summary in sentences.
blocks; 1; blocks; act=show(0)
  All blocks in one table.
calls; 2; calls; act=show(1); foot=2
  Whom to call, with phone and what was done.
map; 3; map; act=show(2); foot=3
  The marked block as a grid of rows and trees with the catch at each trap; Up and Down go to other blocks.
full; 4; in full; act=show(3)
  The whole summary in sentences: checks, upkeep, what was not read, rules and cautions.
notified; c; call made; act=notified; foot=c
  Record a call made: to whom, how, and on which day.
withdraw; u; withdraw; act=withdraw
  In the list of calls: withdraw the newest call to the marked grower, about all its blocks.
treatment; t; spray reported; act=treatment; foot=t; was=a
  Record a spray that a grower reports. What it changes is shown first, and the catch is checked afterwards.
correct; z; fix entry; act=correct; foot=z
  Correct the newest entry about a trap.
past; d; as it stood; act=past; was=p
  The summary as it stood at a time you type; press again for the present.
replay; r; replay; act=replay
  Replay the round, entry by entry.
earlier; left; week; act=week(-1); shown=Left
  The map a week earlier.
later; right; week after; act=week(1); shown=Right
  The map a week later.
page-up; pageup; page; act=page(-1); shown=PgUp
  A page up.
page-down; pagedown; page down; act=page(1); shown=PgDn
  A page down.
mark; The row
back
""",
)
"""Keys of the summary."""
LETTERS = table(
    "letters",
    """
one; enter; write this; act=write_one; shown=Enter; pad=Enter; foot=Enter; was=u
  Write the letter of the marked farm, or the public update where that is marked. What is there already is asked about
  first.
all; w; write all; act=write_all; foot=w
  Write every letter; nothing is sent.
note; n; note; act=note; foot=n
  Type the covering note of all letters.
farm-note; ; note to this farm; act=farm_note; menu=1; was=f
  Type a note for the marked farm alone.
view; v; view; act=view; foot=v
  Open the marked farm's letter, once written, in the system's viewer.
notified; c; call made; act=notified; foot=c
  Record a call made: to whom, how, and on which day.
mark; The farm
read-back; pageup; read; act=scroll_page(-1); shown=PgUp; pad=PgUp; move=PgUp PgDn
  Back in the preview.
read-on; pagedown; read on; act=scroll_page(1); shown=PgDn; pad=PgDn
  On in the preview.
back; escape; back; act=back; shown=Escape
  One step back; while letters are written: stop.
""",
)
"""Keys of the letters."""
REPLAY = table(
    "replay",
    """
next; right,plus,add; entry; act=step(1); shown=Right; pad=+; move=←→; was=n
  The next entry.
before; left,minus,subtract; before; act=step(-1); shown=Left; pad=-; was=p
  The entry before.
start; home; start; act=step(-99999); shown=Home
  Before the first entry.
end; end; end; act=step(99999); shown=End
  The last entry.
play; space; play; act=play; shown=Space; foot=Space
  Play from here, or stop.
go-to; g; go to; act=go_to; shown=g text; move=g
  Go to the first entry about a trap.
correct; z; fix; act=correct(False); foot=z; was=c
  Correct the entry: trap, day, values, and why. What that changes is shown first.
withdraw; u; withdraw; act=correct(True); foot=u; was=t
  Withdraw the entry, with a reason.
question; q; question; act=question; foot=q
  Ask about the entry, answer, or close the question; open ones are listed on the desk.
entry; h,enter; history; act=history; pad=Enter; foot=h
  The history of the entry.
summary; s; summary; act=summary
  The whole summary as it was at this moment.
round-before; pageup; round; act=round(-1); shown=PgUp; pad=PgUp; move=PgUp PgDn
  The round before of this route.
round-after; pagedown; round after; act=round(1); shown=PgDn; pad=PgDn
  The round after.
day; d; day; act=day; foot=d
  The round of a day that is typed.
route; tab; route; act=route; shown=Tab; move=Tab; was=r
  The next route.
back
""",
)
"""Keys of a replay."""
CONFLICTS = table(
    "conflicts",
    """
keep; ; keep; shown=1 to 9; pad=same; foot=1 2
  Keep the entry of that number; the others are withdrawn, or stay as recounts of the same catch. What that changes is
  asked first, and who settled it is recorded.
none; x; none; act=none; foot=x
  None is right: all are withdrawn.
second-looks; left,right; the others; act=recounts; shown=Left Right; move=←→; was=s
  Whether the other counts are withdrawn, or kept as recounts of the same catch.
set-up; tab; set-up rows; act=set_up; shown=Tab; move=Tab; was=u
  Set-up rows that differ on another laptop.
mark; The conflict
back
""",
)
"""Keys of open conflicts."""
SET_UP_ROWS = table(
    "set-up",
    """
keep; ; settle; shown=1 to 9; pad=same; foot=1 2
  1 keeps the row as it is here; another number takes over that laptop's row. Who settled it is recorded. Change the
  CSV file to match.
whole-file; left,right; row or whole file; act=whole_file; shown=Left Right; move=←→; was=f
  Whether a number settles the marked row alone, or all rows of its file alike.
mark; The row
back
""",
)
"""Keys of set-up rows that differ."""
APP = table(
    "app",
    """
menu; m; more; act=screen.menu
  The menu: what has no key of its own here, and all places.
go-to; g; go to; act=screen.go_to; shown=g text
  Go to a trap, a block or a farm by its label.
help; f1,question_mark; keys; act=app.keys; shown=? or F1
  These keys.
guide; f2; guide; act=app.guide; shown=F2
  How a round goes, on one page.
theme; f4; theme; act=app.theme; shown=F4
  Next theme: dark, light, high contrast for the sun, 16 colours. It is kept.
name; f6; name; act=screen.name; shown=F6
  Who is at the keys; the name stands on every entry.
palette; ctrl+p; search; shown=ctrl+p
  Search commands, places and labels.
leave; ctrl+q; leave; act=app.quit
  Leave; everything entered is on the disk.
""",
)
"""Keys that work everywhere."""
