"""Commands beside those of the weekly round, one file a subject, and the table of what is where.

The table is all that opening the app reads: a command's file is loaded when the command is asked for.
"""

from __future__ import annotations

HERE = ("demo", "enter", "load", "open", "replay", "restore", "summary")
"""Commands that ``cli`` itself holds."""
ELSEWHERE = {
    "roundtui.commands.begin": ("bring", "new"),
    "roundtui.commands.corrections": ("correct", "history", "withdraw"),
    "roundtui.commands.exports": ("export", "import"),
    "roundtui.commands.hub": ("hub",),
    "roundtui.commands.letters": ("letters", "update"),
    "roundtui.commands.exchange": ("conflicts", "exchange", "merge", "pack", "verify"),
    "roundtui.commands.plan": ("labels", "packing", "plan", "stock"),
    "roundtui.commands.records": ("record", "samples", "treatment", "treatments"),
    "roundtui.commands.register": ("bodies", "hang", "move", "register", "revert", "set-up", "take-down"),
    "roundtui.commands.rules": ("rules",),
    "roundtui.commands.season": ("biofix", "degree-days", "outlook", "weather"),
    "roundtui.commands.sheets": ("compare", "sheet"),
    "roundtui.commands.specimens": ("agreement", "finds", "identify", "quality", "vials"),
    "roundtui.commands.years": ("season-end", "years"),
}
"""The other commands, by the module they are in; see ``command_line.Commands``."""
