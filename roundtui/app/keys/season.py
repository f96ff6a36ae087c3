"""Keys of the season, the plan, the traps and the register."""

from __future__ import annotations

from roundtui.app.keys import Action, back, marks

SEASON = (
    Action("season.block", "b,pagedown", "block", "The next block.", "block(1)", pad="PgDn", foot="b"),
    Action("season.block-before", "pageup", "block before", "The block before.", "block(-1)", shown="PgUp", pad="PgUp"),
    Action("season.species", "p", "pest", "The next species of this block.", "species", foot="p"),
    Action(
        "season.biofix",
        "e",
        "biofix",
        "Confirm the biofix that is proposed, or set another day with a reason.",
        "biofix",
        foot="e",
        was="c",
    ),
    Action(
        "season.treatment",
        "t",
        "spray reported",
        "Record a spray of this block that the grower reports; it is marked T in the chart.",
        "treatment",
        foot="t",
        was="a",
    ),
    Action(
        "season.years",
        "y",
        "years",
        "Year against year: this block's season beside the seasons before; Enter there opens one of them.",
        "years",
        foot="y",
        was="v",
    ),
    Action(
        *("season.temps", "d", "temperatures", "Enter a day's maximum and minimum, off the thermometer.", "temps"),
        was="m",
    ),
    Action(
        "season.picture",
        "w",
        "picture",
        "Write the picture as SVG and PNG into the folder's pictures, for a letter.",
        "picture",
        foot="w",
    ),
    Action(
        *("season.trap", "tab", "traps", "Each trap alone in turn, then the mean again.", "trap"),
        shown="Tab",
        move="Tab",
    ),
    Action(
        *("season.left", "left", "round", "The round before; its numbers are under the chart.", "point(-1)"),
        shown="Left",
        move="←→",
    ),
    Action("season.right", "right", "right", "The round after.", "point(1)", shown="Right"),
    Action("season.first", "home", "first", "The first round of the season.", "point(-999)", shown="Home"),
    Action("season.last", "end", "last", "The last round of the season.", "point(999)", shown="End"),
    Action("season.up", "up", "events", "Events before.", "events(-1)", shown="Up", move="↑↓"),
    Action("season.down", "down", "down", "Events after.", "events(1)", shown="Down"),
    back("season"),
)
"""Keys of the season."""
YEARS = (
    Action(
        "years.by",
        "left,right",
        "by day or degree-days",
        "Compare the seasons by the calendar, or by degree-days after biofix.",
        "by",
        shown="Left Right",
        move="←→",
        was="d",
    ),
    Action("years.view", "tab", "curves", "The curves; again: the table.", "view", shown="Tab", move="Tab", was="v"),
    Action("years.block", "b", "block", "The next block; all blocks together come first.", "block", foot="b", was="a"),
    Action("years.species", "p", "pest", "The next species.", "species", foot="p", was="s"),
    Action(
        "years.open",
        "enter,ctrl+j",
        "season of a year",
        "Open the season of another year in the season's picture: the newest first, then the one before.",
        "open",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    Action(
        *("years.read-back", "pageup,up", "read", "Back in the table.", "scroll_page(-1)"),
        shown="Up, PgUp",
        pad="PgUp",
        move="↑↓",
    ),
    Action(
        *("years.read-on", "pagedown,down", "read on", "On in the table.", "scroll_page(1)"),
        shown="Down, PgDn",
        pad="PgDn",
    ),
    back("years", "Back to the season."),
)
"""Keys of year against year."""
PLAN = (
    Action("plan.plan", "1", "plan", "When traps have to hang, overdue ones first.", "show('plan')", foot="1", was="p"),
    Action("plan.packing", "2", "packing", "What to pack.", "show('packing')", foot="2", was="k"),
    Action("plan.stock", "3", "stock", "Lures in stock, by lot.", "show('stock')", foot="3"),
    Action("plan.enter", "a", "add lures", "Record lures bought or counted.", "enter", foot="a"),
    Action(
        "plan.labels",
        "w",
        "labels",
        "Write trap labels with a scannable code into the folder's labels, as a page and as a text.",
        "labels",
        foot="w",
    ),
    Action(
        "plan.route",
        "tab",
        "round",
        "What to pack for the next round of each route in turn, then for the season again.",
        "route",
        shown="Tab",
        move="Tab",
        was="r",
    ),
    Action(
        *("plan.season", "left,right", "season", "The season after this one; then this one again.", "season"),
        shown="Left Right",
        move="←→",
        was="y",
    ),
    Action("plan.up", "up", "read", "Read upward.", shown="Up, PgUp, Home", move="↑↓"),
    Action("plan.down", "down", "read on", "Read on.", shown="Down, PgDn, End"),
    back("plan"),
)
"""Keys of the plan."""
ASSEMBLY = (
    Action(
        *("assembly.up", "up", "mark", "The trap above; while a line is typed too.", "mark(-1)"),
        shown="Up",
        move="↑↓",
    ),
    Action("assembly.down", "down", "down", "The trap below; while a line is typed too.", "mark(1)", shown="Down"),
    Action(
        "assembly.open",
        "enter,ctrl+j",
        "assemble or hang",
        "Assemble the marked trap: each part by its label, typed or scanned; Enter goes to the next line. Of one that "
        "is assembled: hang it, with block and day.",
        "open",
        shown="Enter",
        pad="Enter",
        foot="Enter",
        was="h",
    ),
    Action("assembly.other", "a", "add a label", "Assemble a trap that is not listed.", "other", foot="a", was="n"),
    back("assembly", "Out of a line, then one step back."),
)
"""Keys of the assembling of traps."""
SEASON_CLOSE = (
    *marks("close", "trap"),
    Action(
        *("close.away", "1", "away", "The trap is down and its parts are put away.", "note('stored')"),
        pad="same",
        foot="1",
        was="s",
    ),
    Action("close.lost", "2", "gone", "The trap is lost.", "note('lost')", pad="same", foot="2", was="l"),
    Action(
        "close.discarded",
        "3",
        "body out",
        "The trap is down and its body discarded; funnel and lid are put away.",
        "note('discarded')",
        pad="same",
        foot="3",
    ),
    Action("close.place", "e", "place", "Where parts are put away; kept until changed.", "place_of", foot="e", was="p"),
    Action("close.undo", "u", "withdraw", "Withdraw what was just noted here.", "undo", foot="u"),
    Action(
        "close.end",
        "w",
        "season's end",
        "Write the season's end, for the programme and every farm, as season-end does.",
        "write_end",
        foot="w",
    ),
    back("close"),
)
"""Keys of the close of a season."""
REGISTER = (
    Action("register.traps", "1", "traps", "The traps, each with its newest hanging.", "view(0)", pad="same"),
    Action("register.blocks", "2", "blocks", "The blocks.", "view(1)", pad="same"),
    Action("register.farms", "3", "farms", "The farms.", "view(2)", pad="same"),
    Action("register.lots", "4", "lots", "The lots of lures.", "view(3)", pad="same"),
    Action("register.routes", "5", "routes", "The routes, stop by stop as they are walked.", "view(4)", pad="same"),
    Action(
        *("register.next", "tab", "next list", "The next of these lists.", "view(-1)"),
        shown="Tab",
        move="Tab",
        was="v",
    ),
    *marks("register", "row"),
    Action("register.page-up", "pageup", "page up", "Ten rows up.", "mark(-10)", shown="PgUp", pad="PgUp"),
    Action("register.page-down", "pagedown", "page down", "Ten rows down.", "mark(10)", shown="PgDn", pad="PgDn"),
    Action("register.find", "g", "go to", "Go to a row by its label.", "find", shown="g text", move="g", was="f"),
    Action(
        "register.open",
        "enter,ctrl+j",
        "change",
        "Edit the marked row. In the routes: pick the marked stop up and drop it; while it is picked up, Up and Down "
        "carry it, and Escape puts it back.",
        "open",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    Action("register.edit", "e", "edit", "Edit the marked row; in the routes too.", "edit", foot="e"),
    Action("register.add", "a", "add", "Add a row to the list.", "add", foot="a"),
    Action(
        "register.history",
        "h",
        "history",
        "Who changed the marked row, when, from what to what; revert a change there.",
        "history",
        foot="h",
    ),
    Action(
        "register.write",
        "w",
        "write files",
        "Write the set-up files from the register; the former files are kept.",
        "write",
        shown="w, y",
        foot="w",
    ),
    Action(
        "register.move",
        "",
        "move trap",
        "Move the marked trap to another block, row or tree: a new series begins on that day.",
        "move",
        menu=1,
    ),
    Action("register.take-down", "", "take trap down", "Take the marked trap down.", "take_down", menu=2, was="d"),
    Action(
        "register.restore",
        "",
        "hang again",
        "A trap that is down: strike out the taking down, or hang it again from a day on.",
        "restore",
        menu=3,
        was="r",
    ),
    Action(
        *("register.no-entry", "", "no entry before", "The day before which nobody enters the block.", "no_entry"),
        menu=4,
        was="n",
    ),
    Action(
        "register.last",
        "",
        "visit last",
        "A farm: visit it last, or no longer. In the routes: put such farms last; the rest keeps its order.",
        "last",
        menu=5,
        was="l",
    ),
    back("register", "Drop an order that is not kept; else one step back."),
)
"""Keys of the register."""
ROW_HISTORY = (
    *marks("row-history", "change"),
    Action(
        "row-history.put-back",
        "u",
        "revert",
        "Revert the marked change and what was recorded with it. That is a further entry; nothing is erased.",
        "revert",
        shown="u, y",
        foot="u",
    ),
    back("row-history", "Back to the register."),
)
"""Keys of the history of a row of the register."""
