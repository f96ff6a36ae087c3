"""How a round goes, for the first time."""

from __future__ import annotations

from textwrap import fill

from textual.content import Content

from roundtui.app.screens.help import WIDTH, PageScreen
from roundtui.domain.cautions import ENTRY_CHECK, KILL_STRIP, LURES

STEPS = (
    "The desk marks the first round that is due. Enter opens it.",
    "On entering a farm a line asks whether the entry interval has been checked with the grower. It waits for "
    "no key; it is yours to answer.",
    "At a block's first trap its fruit stage stands above the count, as it was last time. Enter: seen, "
    'unchanged. Down or Up: another one. f: the whole list. A digit starts the count, and the stage stays "not'
    ' looked at".',
    "Type what is in the trap and press Enter. 0 is a count. Blank is nothing: it stays where it is and says so.",
    "What you did goes with the count, before Enter and in any order: l liner, r lure, k kill strip, b body, c"
    " moths left in, e estimate, o12 other insects, n a note, w a wrong lure found. So 4o12lr is a whole "
    "entry.",
    "No count? x and a letter: s skipped, c closed, m missing, d down, g damaged, o other. On the number pad /"
    " and 1 to 6. So xm is a whole entry.",
    "A slip? z goes back to the last entry; type what is true and press Enter. Both stay on record, with who and when.",
    "Up and Down look at the neighbours and record nothing. g and a label goes there.",
    "After the last trap Enter shows the summary. t there puts on record whom you told, how, and when.",
)
END = (
    "Every entry is on the disk before the next trap shows. You can close the lid at any time, and go on where you "
    "stopped, up to six days later."
)


class GuideScreen(PageScreen):
    """One page on how a round goes."""

    NAME = "Guide"

    def page(self) -> Content:
        """The steps, then the cautions that go with them."""
        parts: list[str | tuple[str, str]] = [("A round, step by step\n\n", "bold")]
        parts += [_hanging(f"{number}  ", words) for number, words in enumerate(STEPS, 1)]
        parts += [f"\n{fill(END, WIDTH)}\n\n", ("Take care\n\n", "bold")]
        parts += [_hanging("!  ", words) for words in (ENTRY_CHECK, KILL_STRIP, LURES)]
        return Content.assemble(*parts)


def _hanging(mark: str, words: str) -> str:
    return fill(words, WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark)) + "\n"
