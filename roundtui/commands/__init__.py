"""Commands beside those of the weekly round, one file a subject, and the table of what is where.

The table is all that opening the app reads: a command's file is loaded when the command is asked for.
"""

from __future__ import annotations

HERE = ("demo", "enter", "load", "open", "replay", "restore", "summary")
"""Commands that ``cli`` itself holds."""
ELSEWHERE = {
    "roundtui.commands.begin": ("bring", "new"),
    "roundtui.commands.corrections": ("correct", "history", "withdraw"),
    "roundtui.commands.exchange": ("conflicts", "exchange", "hub", "merge", "pack", "verify"),
    "roundtui.commands.letters": ("export", "import", "letters", "update"),
    "roundtui.commands.plan": ("labels", "packing", "plan", "stock"),
    "roundtui.commands.records": ("compare", "record", "samples", "sheet", "treatment", "treatments"),
    "roundtui.commands.register": ("bodies", "hang", "move", "register", "revert", "rules", "set-up", "take-down"),
    "roundtui.commands.season": ("biofix", "degree-days", "outlook", "season-end", "weather", "years"),
    "roundtui.commands.specimens": ("agreement", "finds", "identify", "quality", "vials"),
}
"""The other commands, by the module they are in; see ``command_line.Commands``."""
