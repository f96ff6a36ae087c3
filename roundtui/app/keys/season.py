"""Keys of the season, the plan, the traps and the register."""

from __future__ import annotations

from roundtui.app.keys import Action

SEASON = (
    Action("season.block", "b,pagedown", "block", "The next block.", "block(1)", pad="PgDn", foot="b"),
    Action("season.block-before", "pageup", "block before", "The block before.", "block(-1)", shown="PgUp", pad="PgUp"),
    Action("season.species", "s", "species", "The next species of this block.", "species", foot="s"),
    Action("season.year", "y", "year", "The year before; after the oldest, this year.", "year", foot="y"),
    Action("season.trap", "t", "trap", "Each trap alone in turn, then the mean again.", "trap"),
    Action(
        "season.left", "left", "left", "The round before; its numbers are under the chart.", "point(-1)", shown="Left"
    ),
    Action("season.right", "right", "right", "The round after.", "point(1)", shown="Right"),
    Action("season.first", "home", "first", "The first round of the season.", "point(-999)", shown="Home"),
    Action("season.last", "end", "last", "The last round of the season.", "point(999)", shown="End"),
    Action("season.up", "up", "up", "Events before.", "events(-1)", shown="Up"),
    Action("season.down", "down", "down", "Events after.", "events(1)", shown="Down"),
    Action(
        "season.biofix",
        "c",
        "biofix",
        "Confirm the biofix that is proposed, or set another day with a reason.",
        "biofix",
        foot="c",
    ),
    Action(
        "season.temps", "m", "temps", "Enter a day's maximum and minimum, read off the thermometer.", "temps", foot="m"
    ),
    Action(
        "season.treatment",
        "a",
        "treatment",
        "Record a spray of this block that the grower reports; it is marked T in the chart.",
        "treatment",
    ),
    Action(
        "season.picture",
        "w",
        "picture",
        "Write the picture as SVG and PNG into the folder's pictures, for a letter.",
        "picture",
    ),
    Action(
        "season.years",
        "v",
        "years",
        "Year against year: this block's season beside the seasons before.",
        "years",
        foot="v",
    ),
    Action("season.back", "escape", "back", "One step back.", "back", shown="Escape"),
)
"""Keys of the season."""
YEARS = (
    Action(
        "years.by",
        "d",
        "degree-days",
        "Compare the seasons by degree-days after biofix; press again for the calendar.",
        "by",
        foot="d",
    ),
    Action("years.area", "a", "area", "All blocks together; again: the block.", "area", foot="a"),
    Action("years.view", "v", "curves", "The curves; again: the table.", "view", foot="v"),
    Action("years.block", "b", "block", "The next block.", "block", foot="b"),
    Action("years.species", "s", "species", "The next species.", "species", foot="s"),
    Action(
        "years.read-back",
        "pageup,up",
        "read back",
        "Back in the table.",
        "scroll_page(-1)",
        shown="Up, PgUp",
        pad="PgUp",
    ),
    Action(
        "years.read-on",
        "pagedown,down",
        "read on",
        "On in the table.",
        "scroll_page(1)",
        shown="Down, PgDn",
        pad="PgDn",
    ),
    Action("years.back", "escape", "back", "Back to the season.", "back", shown="Escape"),
)
"""Keys of year against year."""
PLAN = (
    Action("plan.plan", "p", "plan", "When traps have to hang, overdue ones first.", "show('plan')", foot="p"),
    Action("plan.packing", "k", "packing", "What to pack.", "show('packing')", foot="k"),
    Action(
        "plan.route",
        "r",
        "round",
        "What to pack for the next round of each route in turn, then for the season again.",
        "route",
        foot="r",
    ),
    Action("plan.stock", "s", "stock", "Lures in stock, by lot.", "show('stock')", foot="s"),
    Action("plan.enter", "e", "enter", "Record lures bought or counted.", "enter", foot="e"),
    Action(
        "plan.labels",
        "w",
        "labels",
        "Write trap labels with a scannable code into the folder's labels, as a page and as a text.",
        "labels",
        foot="w",
    ),
    Action("plan.season", "y", "year", "The season after this one; then this one again.", "season"),
    Action("plan.up", "up", "up", "Read upward.", shown="Up, PgUp, Home"),
    Action("plan.down", "down", "read on", "Read on.", shown="Down, PgDn, End"),
    Action("plan.back", "escape", "back", "One step back.", "back", shown="Escape"),
)
"""Keys of the plan."""
ASSEMBLY = (
    Action("assembly.up", "up", "up", "The trap above; while a line is typed too.", "mark(-1)", shown="Up"),
    Action("assembly.down", "down", "down", "The trap below; while a line is typed too.", "mark(1)", shown="Down"),
    Action(
        "assembly.open",
        "enter,ctrl+j",
        "assemble",
        "Assemble the marked trap: each part by its label, typed or scanned; Enter goes to the next line.",
        "open",
        shown="Enter",
        pad="Enter",
        foot="Enter",
    ),
    Action("assembly.other", "n", "new label", "Assemble a trap that is not listed.", "other", foot="n"),
    Action("assembly.hang", "h", "hang", "Hang the marked assembled trap: block and day.", "hang", foot="h"),
    Action("assembly.close", "c", "close of season", "Take traps down, store the parts.", "close_season", foot="c"),
    Action("assembly.back", "escape", "back", "From the lines to the list; again: back.", "back", shown="Escape"),
)
"""Keys of making traps up; letters act while no line is typed."""
SEASON_CLOSE = (
    Action("close.up", "up,minus,subtract", "up", "The one above.", "mark(-1)", shown="Up", pad="-"),
    Action("close.down", "down,plus,add", "down", "The one below.", "mark(1)", shown="Down", pad="+"),
    Action(
        "close.stored",
        "s",
        "store",
        "The trap is down and its parts are stored; s twice for a contaminated body.",
        "note('stored')",
        foot="s",
    ),
    Action("close.lost", "l", "lost", "The trap is gone with its parts.", "note('lost')", foot="l"),
    Action(
        "close.discarded",
        "d",
        "discard",
        "The trap is down and its body discarded; funnel and lid are stored.",
        "note('discarded')",
        foot="d",
    ),
    Action("close.place", "p", "place", "Where parts are put away; kept until changed.", "place", foot="p"),
    Action(
        "close.end",
        "w",
        "season's end",
        "Write the season's end, for the programme and every farm, as season-end does.",
        "write_end",
        foot="w",
    ),
    Action("close.back", "escape", "back", "One step back.", "back", shown="Escape", foot="Escape"),
)
"""Keys of the close of a season."""
REGISTER = (
    Action("register.traps", "1", "traps", "The traps, each with its newest hanging.", "view(0)", pad="same"),
    Action("register.blocks", "2", "blocks", "The blocks.", "view(1)", pad="same"),
    Action("register.farms", "3", "farms", "The farms.", "view(2)", pad="same"),
    Action("register.lots", "4", "lots", "The lots of lures.", "view(3)", pad="same"),
    Action("register.routes", "5", "routes", "The routes, stop by stop as they are walked.", "view(4)", pad="same"),
    Action("register.stations", "6", "stations", "The weather stations.", "view(5)", pad="same"),
    Action("register.species", "7", "species", "The species of the office's own.", "view(6)", pad="same"),
    Action("register.next", "v,tab", "next view", "The next of these views.", "view(-1)", shown="v or Tab"),
    Action("register.up", "up,minus,subtract", "up", "The row above.", "mark(-1)", shown="Up", pad="-"),
    Action("register.down", "down,plus,add", "down", "The row below.", "mark(1)", shown="Down", pad="+"),
    Action("register.page-up", "pageup", "page up", "Ten rows up.", "mark(-10)", shown="PgUp", pad="PgUp"),
    Action("register.page-down", "pagedown", "page down", "Ten rows down.", "mark(10)", shown="PgDn", pad="PgDn"),
    Action("register.find", "f", "find", "Find a row by its label.", "find", shown="f text"),
    Action("register.add", "a", "add", "Add a row to the view.", "add", foot="a"),
    Action(
        "register.edit",
        "enter,ctrl+j,e",
        "change",
        "Edit the marked row. While ordering a route: keep the order.",
        "edit",
        shown="Enter or e",
        pad="Enter",
        foot="Enter",
    ),
    Action(
        "register.move",
        "m",
        "move",
        "Move the marked trap to another block, row or tree: a new series begins on that day.",
        "move",
        foot="m",
    ),
    Action("register.take-down", "d", "take down", "Take the marked trap down.", "take_down", foot="d"),
    Action(
        "register.restore",
        "r",
        "restore",
        "A trap that is down: strike out the taking down, or hang it again from a day on.",
        "restore",
    ),
    Action("register.no-entry", "n", "no entry", "The day before which nobody enters the marked block.", "no_entry"),
    Action(
        "register.last",
        "l",
        "last",
        "A farm: visit it last, or no longer. In the routes: put such farms last; the rest keeps its order.",
        "last",
    ),
    Action(
        "register.as-walked",
        "k",
        "as walked",
        "Put the marked route in the order in which its traps were read in the last seven days.",
        "as_walked",
    ),
    Action(
        "register.carry-up",
        "u,shift+up,slash,divide",
        "carry up",
        "Carry the marked stop up its route. Enter keeps the order, Escape drops it.",
        "carry(-1)",
        pad="/",
    ),
    Action(
        "register.carry-down",
        "j,shift+down,asterisk,multiply",
        "carry down",
        "Carry the marked stop down its route, likewise.",
        "carry(1)",
        pad="*",
    ),
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
    ),
    Action(
        "register.back", "escape", "back", "Drop an order that is not kept; else one step back.", "back", shown="Escape"
    ),
)
"""Keys of the register."""
ROW_HISTORY = (
    Action("row-history.up", "up,minus,subtract", "up", "The change above.", "mark(-1)", shown="Up", pad="-"),
    Action("row-history.down", "down,plus,add", "down", "The change below.", "mark(1)", shown="Down", pad="+"),
    Action(
        "row-history.revert",
        "u",
        "revert",
        "Revert the marked change and what was recorded with it. That is a further entry; nothing is erased.",
        "revert",
        shown="u, y",
        foot="u",
    ),
    Action("row-history.back", "escape", "back", "Back to the register.", "back", shown="Escape", foot="Escape"),
)
"""Keys of the history of a row of the register."""
