"""Keys of the season, the plan, the traps and the register."""

from __future__ import annotations

from roundtui.app.keys import table

SEASON = table(
    "season",
    """
block; b,pagedown; block; act=block(1); pad=PgDn; foot=b
  The next block.
block-before; pageup; block before; act=block(-1); shown=PgUp; pad=PgUp
  The block before.
species; p; pest; act=species; foot=p
  The next species of this block.
biofix; e; biofix; act=biofix; foot=e; was=c
  Confirm the biofix that is proposed, or set another day with a reason.
treatment; t; spray reported; act=treatment; foot=t; was=a
  Record a spray of this block that the grower reports; it is marked T in the chart.
years; y; years; act=years; foot=y; was=v
  Year against year: this block's season beside the seasons before; Enter there opens one of them.
temps; d; temperatures; act=temps; was=m
  Enter a day's maximum and minimum, off the thermometer.
picture; w; picture; act=picture; foot=w
  Write the picture as SVG and PNG into the folder's pictures, for a letter.
trap; tab; traps; act=trap; shown=Tab; move=Tab
  Each trap alone in turn, then the mean again.
left; left; round; act=point(-1); shown=Left; move=←→
  The round before; its numbers are under the chart.
right; right; right; act=point(1); shown=Right
  The round after.
first; home; first; act=point(-999); shown=Home
  The first round of the season.
last; end; last; act=point(999); shown=End
  The last round of the season.
up; up; events; act=events(-1); shown=Up; move=↑↓
  Events before.
down; down; down; act=events(1); shown=Down
  Events after.
back
""",
)
"""Keys of the season."""
YEARS = table(
    "years",
    """
by; left,right; days, dd; act=by; shown=Left Right; move=←→; was=d
  Compare the seasons by the calendar, or by degree-days after biofix.
view; tab; curves, table; act=view; shown=Tab; move=Tab; was=v
  The curves; again: the table.
block; b; block; act=block; foot=b; was=a
  The next block; all blocks together come first.
species; p; pest; act=species; foot=p; was=s
  The next species.
open; enter; season of a year; act=open; shown=Enter; pad=Enter; foot=Enter
  Open the season of another year in the season's picture: the newest first, then the one before.
read-back; pageup,up; read; act=scroll_page(-1); shown=Up, PgUp; pad=PgUp; move=↑↓
  Back in the table.
read-on; pagedown,down; read on; act=scroll_page(1); shown=Down, PgDn; pad=PgDn
  On in the table.
back; escape; back; act=back; shown=Escape
  Back to the season.
""",
)
"""Keys of year against year."""
PLAN = table(
    "plan",
    """
plan; 1; plan; act=show('plan'); foot=1; was=p
  When traps have to hang, overdue ones first.
packing; 2; packing; act=show('packing'); foot=2; was=k
  What to pack.
stock; 3; stock; act=show('stock'); foot=3
  Lures in stock, by lot.
enter; a; add lures; act=enter; foot=a
  Record lures bought or counted.
labels; w; labels; act=labels; foot=w
  Write trap labels with a scannable code into the folder's labels, as a page and as a text.
route; tab; round; act=route; shown=Tab; move=Tab; was=r
  What to pack for the next round of each route in turn, then for the season again.
season; left,right; season; act=season; shown=Left Right; move=←→; was=y
  The season after this one; then this one again.
up; up; read; shown=Up, PgUp, Home; move=↑↓
  Read upward.
down; down; read on; shown=Down, PgDn, End
  Read on.
back
""",
)
"""Keys of the plan."""
ASSEMBLY = table(
    "assembly",
    """
up; up; mark; act=mark(-1); shown=Up; move=↑↓
  The trap above; while a line is typed too.
down; down; down; act=mark(1); shown=Down
  The trap below; while a line is typed too.
open; enter; assemble or hang; act=open; shown=Enter; pad=Enter; foot=Enter; was=h
  Assemble the marked trap: each part by its label, typed or scanned; Enter goes to the next line. Of one that is
  assembled: hang it, with block and day.
other; a; add a label; act=other; foot=a; was=n
  Assemble a trap that is not listed.
back; escape; back; act=back; shown=Escape
  Out of a line, then one step back.
""",
)
"""Keys of the assembling of traps."""
SEASON_CLOSE = table(
    "close",
    """
mark; The trap
away; 1; away; act=note('stored'); pad=same; foot=1; was=s
  The trap is down and its parts are put away.
lost; 2; gone; act=note('lost'); pad=same; foot=2; was=l
  The trap is lost.
discarded; 3; body out; act=note('discarded'); pad=same; foot=3
  The trap is down and its body discarded; funnel and lid are put away.
place; e; place; act=place_of; foot=e; was=p
  Where parts are put away; kept until changed.
undo; u; withdraw; act=undo; foot=u
  Withdraw what was just noted here.
end; w; season's end; act=write_end; foot=w
  Write the season's end, for the programme and every farm, as season-end does.
back
""",
)
"""Keys of the close of a season."""
REGISTER = table(
    "register",
    """
traps; 1; traps; act=view(0); pad=same
  The traps, each with its newest hanging.
blocks; 2; blocks; act=view(1); pad=same
  The blocks.
farms; 3; farms; act=view(2); pad=same
  The farms.
lots; 4; lots; act=view(3); pad=same
  The lots of lures.
routes; 5; routes; act=view(4); pad=same
  The routes, stop by stop as they are walked.
stations; 6; stations; act=view(5); pad=same
  The weather stations.
species; 7; species; act=view(6); pad=same
  The species of the office's own.
rules; 8; rules; act=view(7); pad=same
  The thresholds: those of the office, those that ship, those seen published. Enter takes one up, or changes it; what
  it would have said of the seasons on record is shown first.
office; 9; office; act=view(8); pad=same
  Letterhead, area update, season, temperatures and plan.
next; tab; next list; act=view(-1); shown=Tab; move=Tab; was=v
  The next of these lists.
mark; The row
page-up; pageup; page up; act=mark(-10); shown=PgUp; pad=PgUp
  Ten rows up.
page-down; pagedown; page down; act=mark(10); shown=PgDn; pad=PgDn
  Ten rows down.
find; g; go to; act=find; shown=g text; move=g; was=f
  Go to a row by its label.
open; enter; change; act=open; shown=Enter; pad=Enter; foot=Enter
  Edit the marked row. In the routes: pick the marked stop up and drop it; while it is picked up, Up and Down carry
  it, and Escape puts it back.
edit; e; edit; act=edit; foot=e
  Edit the marked row; in the routes too.
add; a; add; act=add; foot=a
  Add a row to the list.
history; h; history; act=history; foot=h
  Who changed the marked row, when, from what to what; revert a change there.
write; w; write files; act=write; shown=w, y; foot=w
  Write the set-up files from the register; the former files are kept.
move; ; move trap; act=move; menu=1
  Move the marked trap to another block, row or tree: a new series begins on that day.
take-down; ; take down or out; act=take_down; menu=2; was=d
  Take the marked trap down; take the marked rule of the office out.
restore; ; hang again; act=restore; menu=3; was=r
  A trap that is down: strike out the taking down, or hang it again from a day on.
no-entry; ; no entry before; act=no_entry; menu=4; was=n
  The day before which nobody enters the block.
last; ; visit last; act=last; menu=5; was=l
  A farm: visit it last, or no longer. In the routes: put such farms last; the rest keeps its order.
as-walked; ; as walked; act=as_walked; menu=6; was=k
  Put the marked route in the order in which its traps were read in the last seven days.
back; escape; back; act=back; shown=Escape
  Drop an order that is not kept; else one step back.
""",
)
"""Keys of the register."""
ROW_HISTORY = table(
    "row-history",
    """
mark; The change
revert; u; revert; act=revert; shown=u, y; foot=u
  Revert the marked change and what was recorded with it. That is a further entry; nothing is erased.
back; escape; back; act=back; shown=Escape
  Back to the register.
""",
)
"""Keys of the history of a row of the register."""
