"""How a round goes, for the first time."""

from __future__ import annotations

from textual.content import Content

from roundtui.app.screens.help import PageScreen
from roundtui.domain.cautions import ENTRY_CHECK, KILL_STRIP, LURES

GUIDE = """A round, step by step

1  The desk marks the first round that is due. Enter opens it.
2  On entering a farm a line asks whether the entry interval has been checked
   with the grower. It waits for no key; it is yours to answer.
3  At a block's first trap its fruit stage stands above the count, as it was
   last time. Enter: seen, unchanged. Down or Up: another one. f: the whole list.
   A digit starts the count, and the stage stays "not looked at".
4  Type what is in the trap and press Enter. 0 is a count. Blank is nothing: it
   stays where it is and says so.
5  What you did goes with the count, before Enter and in any order: l liner,
   r lure, k kill strip, b body, c moths left in, e estimate, o12 other insects,
   n a note, w a wrong lure found. So 4o12lr is a whole entry.
6  No count? x and a letter: s skipped, c closed, m missing, d down, g damaged,
   o other. On the number pad / and 1 to 6. So xm is a whole entry.
7  A slip? z goes back to the last entry; type what is true and press Enter. Both
   stay on record, with who and when.
8  Up and Down look at the neighbours and record nothing. g and a label goes there.
9  After the last trap Enter shows the summary. t there puts on record whom you
   told, how, and when.

Every entry is on the disk before the next trap shows. You can close the lid at any
time, and go on where you stopped, up to six days later.

Take care
"""


class GuideScreen(PageScreen):
    """One page on how a round goes."""

    NAME = "Guide"

    def page(self) -> Content:
        """The steps, then the cautions that go with them."""
        cautions = "\n".join(f"!  {words}" for words in (ENTRY_CHECK, KILL_STRIP, LURES))
        return Content(f"{GUIDE}\n{cautions}\n")
