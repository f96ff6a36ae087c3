"""What the tally sheet shows, piece by piece; text from people goes through ``plain`` and is never read as markup."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.domain.entries import Visit
from roundtui.domain.paper.sheet import Line, SheetRow, Totals, Typing
from roundtui.domain.programme.farm import Trap
from roundtui.domain.round.tally import format_tally
from roundtui.domain.round.walk import catch
from roundtui.domain.text import cells, padded, sanitize
from roundtui.store.paper.sheet_state import MARK

if TYPE_CHECKING:
    from roundtui.store.session import Session

LABELS = {Line.GO_TO: "Go to", Line.DAY: "Day", Line.STAGE: "Stage", Line.PLACE: "Stands here"}
TALLY_WIDTH = 24
"""Cells for what is typed on a row at 80 columns; the rest of the width is for words. [cells]"""
PAST_WIDTH = 11


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    """What a line of the sheet is made of."""

    row: SheetRow
    """The row."""
    hanging: Trap | None
    """Its trap's hanging."""
    typing: Typing | None = None
    """What is typed on it; None where it is not the one typed on."""
    past: Visit | None = None
    """What the trap showed the week before."""
    shows_past: bool = False
    """Whether last week's figures are asked for."""
    warning: str = ""
    """What is to be remarked on; empty where there is nothing."""
    other_scout: bool = False
    """Whether the entry is another scout's."""


def head(route: str, session: Session, said: tuple[Totals, bool], width: int) -> Content:
    """Sheet, day, who is at the keys, and how far it has come.

    Args:
        route: Name of the sheet's route.
        session: Who and when.
        said: Totals of the whole sheet, and whether it is keyed the second time.
        width: Cells there are. [cells]
    """
    whole, second = said
    trap_entry = "   DOUBLE ENTRY, blind" if second else ""
    left = f" Tally sheet {sanitize(route, 14)}{trap_entry}   {session.on:%a} {session.on.isoformat()}   "
    right = f"{whole.rows - whole.blank} of {whole.rows} "
    left += sanitize(session.scout, max(1, min(16, width - cells(left) - cells(right) - 1)))
    return Content(left + " " * max(1, width - cells(left) - cells(right)) + right)


def titles(width: int, *, shows_past: bool) -> Content:
    """The head of the columns."""
    past = padded("last week", PAST_WIDTH) if shows_past else ""
    return Content.styled(padded(f"  {'':>3} {'trap':<11}{'pest':<6}{'day':<7}{past}tally", width), "bold")


def row_line(place: int, sample: RowView, width: int) -> list[tuple[str, str]]:
    """One row.

    Args:
        place: Its place, from 0.
        sample: What it is made of.
        width: Cells there are. [cells]
    """
    row, typing = sample.row, sample.typing
    species = sample.hanging.species if sample.hanging else ""
    pieces = [
        (f"{'>' if typing is not None else ' '} {place + 1:>3} ", "strong" if typing is not None else "plain"),
        (f"{padded(row.trap, 10)} {padded(species, 5)} {row.read_on:%m-%d}  ", "plain"),
    ]
    if sample.shows_past:
        pieces.append((padded(_past(sample.past), PAST_WIDTH), "muted"))
    left = width - sum(cells(text) for text, _ in pieces)
    stands = format_tally(row.draft) if row.draft is not None else ""
    words = f"{MARK}{sample.warning}" if sample.warning else ""
    if sample.other_scout:
        words = f"by {sanitize(row.scout, 16)}  {words}"
    if typing is None:
        room = max(min(cells(sanitize(stands)) + 1, TALLY_WIDTH), left - cells(words) - 1)
        pieces.append((padded(stands, room), "plain"))
        pieces.append((sanitize(words, max(0, left - room)), "warning"))
        return pieces
    if typing.line is not Line.ROW:
        pieces += [(f"{LABELS[typing.line]}: ", "strong"), (_tail(typing.words, left - 16), "strong"), (" ", "cursor")]
        return pieces
    was = f"is {stands}" if stands else ""
    shown = _tail(typing.text, left - 1 - (min(cells(was), 20) + 2 if was else 0))
    pieces += [(shown, "strong"), (" ", "cursor")]
    rest = left - cells(shown) - 1
    filler = max(1, TALLY_WIDTH - cells(shown) - 1)
    if was:
        pieces.append((" " * filler + sanitize(f"{was}  {words}".rstrip(), max(0, rest - filler)), "muted"))
    return pieces


def end_line(typing: Typing | None, *, second: bool) -> list[tuple[str, str]]:
    """The line below the last row."""
    does = "shows where the two entries differ" if second else "shows the summary"
    if typing is None:
        return [("      end of the sheet", "muted")]
    if typing.line is not Line.ROW:
        return [(f">     {LABELS[typing.line]}: ", "strong"), (_tail(typing.words, 40), "strong"), (" ", "cursor")]
    return [(">     end of the sheet: ", "strong"), (f"Enter {does}", "plain")]


def foot(above: Totals, whole: Totals, width: int) -> Content:
    """The totals, as they stand at the foot of the paper."""
    first = sanitize(f"  To row {above.rows:<4}{above}", width)
    second = sanitize(f"  All {whole.rows:<7}{whole}", width)
    return Content.assemble((first, "bold"), "\n", second)


def said(typing: Typing, question: str, width: int) -> Content:
    """The word to the person at the keys, and the question that stands open: two lines."""
    word = Content.styled(f"  {sanitize(typing.said, width - 4)}", "bold $text-accent")
    asked = Content.styled(f"  {MARK}{sanitize(question, width - 6)}" if question else "", "bold $text-warning")
    return Content("\n").join([word, asked])


def _past(visit: Visit | None) -> str:
    return "none" if visit is None else f"{catch(visit)} {visit.read_on:%m-%d}"


def _tail(text: str, width: int) -> str:
    """The end of a long text: it is where the cursor is."""
    shown = sanitize(text[-2 * max(1, width) :])
    if len(text) <= len(shown) and cells(shown) <= width:
        return shown
    while shown and cells(shown) > width - 1:
        shown = shown[1:]
    return f"…{shown}"
