"""All that belongs to one entry: what it corrected, what corrected it, what was asked, in full."""

from __future__ import annotations

from textwrap import wrap

from textual.content import Content

from roundtui.app.screens.help.screen import WIDTH, PageScreen
from roundtui.app.screens.history.view import chain_lines
from roundtui.app.session import Session
from roundtui.domain.questions import Talk
from roundtui.domain.text import plain
from roundtui.report.round.replay import ReplayStep
from roundtui.store.chains import chain

_LONGEST = 4000


class ChainScreen(PageScreen):
    """One entry's story.

    Args:
        session: Who, where and when.
        step: The entry as replayed.
        talk: What was said about it.
    """

    CSS_PATH = "../help/style.tcss"
    NAME = "Entry"

    def __init__(self, session: Session, step: ReplayStep, talk: Talk | None) -> None:
        super().__init__()
        self._rows = chain(session.conn, step.row.id)
        self._step = step
        self._talk = talk

    def page(self) -> Content:
        """What stands is marked with a star."""
        row = self._step.row
        parts: list[str | tuple[str, str]] = [
            (f"{row.kind.capitalize()} of {plain(row.trap or row.block or '', 40)}, {row.read_on}\n\n", "bold"),
            "In the order recorded; * marks what holds. Times in UTC.\n\n",
        ]
        parts += [_wrapped(line) for line in chain_lines(self._rows, _LONGEST)]
        if self._step.remarks:
            parts.append(("\nRemarks\n\n", "bold"))
            parts += [_wrapped(f"! {words}") for words in self._step.remarks.values()]
        if self._talk is not None:
            parts.append((f"\nQuestion, {'open' if self._talk.open else 'closed'}\n\n", "bold"))
            parts += [
                _wrapped(f"{one.says.value} by {plain(one.scout, 40)}: {plain(one.words, _LONGEST)}")
                for one in self._talk.rows
            ]
        return Content.assemble(*parts)


def _wrapped(words: str) -> str:
    return "\n".join(wrap(words, WIDTH, subsequent_indent="    ")) + "\n"
