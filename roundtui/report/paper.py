"""The blank sheet as plain text: pages of A4 or Letter at ten characters to the inch, parted by form feeds.

The blank sheet as one HTML file that needs nothing else: black on white, boxes wide enough for a cold hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap

from roundtui.domain.entries import Visit
from roundtui.domain.paper.sheet import CAUTIONS, COLUMNS, LEGEND, Paper, PaperBlock, PaperRow
from roundtui.domain.round.walk import work_done
from roundtui.domain.text import padded, sanitize, several

WIDTH = 76
"""Characters a line; ten to the inch leave a margin on A4 and Letter. [characters]"""
PAGE_LINES = 58
"""Lines a page, at six to the inch; Letter is the shorter of the two. [lines]"""
_BOXES = (("count", 6), ("oth.", 4), ("lin", 3), ("lur", 3), ("str", 3), ("n.r", 3), ("note", 10))
_LEFT = WIDTH - sum(width for _, width in _BOXES) - len(_BOXES) - 1
_OPEN = "|" + "|".join(" " * width for _, width in _BOXES) + "|"
_CLOSED = "|" + "|".join("_" * width for _, width in _BOXES) + "|"
_RULE = "-" * _LEFT + "+" + "+".join("-" * width for _, width in _BOXES) + "+"


def reads_as(visit: Visit) -> str:
    """What a row of a sheet says, in words."""
    moths = "" if visit.count is None else several(visit.count, "moth")
    why = f"not read: {visit.no_reading.value}" if visit.no_reading is not None else ""
    return ", ".join(filter(None, (moths, why, *work_done(visit))))


def sheet_text(paper: Paper) -> str:
    """The sheet as text.

    Args:
        paper: The sheet.

    Returns:
        Pages parted by form feeds; each has its head and the totals to its last row, the first also the notation and
        the cautions.
    """
    foot = [line for words in (*LEGEND, *CAUTIONS) for line in wrap(words, WIDTH, subsequent_indent="  ")]
    pages: list[list[str]] = [[]]
    totals: list[int] = []
    number = 0
    for block in paper.blocks:
        head = _block_head(block)
        for at, row in enumerate(block.rows):
            lines = [*(head if at == 0 else []), *_row(number + 1, row)]
            room = PAGE_LINES - 7 - (len(foot) if len(pages) == 1 else 0)
            if pages[-1] and len(pages[-1]) + len(lines) > room:
                totals.append(number)
                pages.append([])
            pages[-1] += lines
            number += 1
    totals.append(number)
    made = []
    for at, (lines, last) in enumerate(zip(pages, totals, strict=True), 1):
        total = [padded(f"Total to row {last}", _LEFT) + _OPEN, padded("", _LEFT) + _CLOSED]
        made.append("\n".join([*_head(paper, at, len(pages)), *lines, *total, *(foot if at == 1 else ())]))
    return "\n\f".join(made) + "\n"


def _head(paper: Paper, page: int, pages: int) -> Iterator[str]:
    right = f"page {page} of {pages}"
    left = f"Round {sanitize(paper.route, 30)}   {paper.on:%a} {paper.on.isoformat()}"
    yield left + right.rjust(WIDTH - len(left))
    yield "Read on ______________   by ____________________   keyed by ________________"
    yield ""
    yield (
        padded(f" no {'trap':<11}{'sp.':<6}last catch", _LEFT)
        + "|"
        + "|".join(name.center(width)[:width] for name, width in _BOXES)
        + "|"
    )
    yield _RULE


def _block_head(block: PaperBlock) -> list[str]:
    lines = []
    if block.farm:
        lines.append(sanitize(f"{sanitize(block.farm, 34)}   entry interval checked [  ]  signs read [  ]", WIDTH))
    lines.append(sanitize(f"block {sanitize(block.block, 48)}   stage ____", WIDTH))
    if block.note:
        lines.append(sanitize(f"! {block.note}", WIDTH))
    return lines


def _row(number: int, row: PaperRow) -> list[str]:
    left = f"{number:>3} {padded(row.trap, 10)} {padded(row.species, 5)} {row.last}"
    below = "  ".join(filter(None, (f"due: {', '.join(row.due)}" if row.due else "", row.where)))
    return [padded(left, _LEFT) + _OPEN, padded(f"    {below}", _LEFT) + _CLOSED]


def page(name: str, **said: object) -> str:
    """A page that stands alone, to be printed.

    Args:
        name: Its template in ``report/pages``.
        said: What the template and its style use; what of it is text is escaped.
    """
    # Loaded on first use: pages are printed a few times a season.
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    pages = FileSystemLoader(Path(__file__).with_name("pages"))
    templates = Environment(loader=pages, autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    templates.filters["cut"] = sanitize
    return templates.get_template(name).render(said) + "\n"


_COLUMNS = (("no", 6), ("trap", 13), ("sp.", 8), ("last", 8), ("due", 13))
"""Columns of the page that are printed, with their widths."""
_FILLED = tuple(zip(COLUMNS, (14, 8, 6, 6, 7, 9, 17), strict=True))
"""Those that are written in."""


def sheet_html(paper: Paper) -> str:
    """The sheet as HTML.

    Args:
        paper: The sheet.
    """
    return page(
        "sheet.html", paper=paper, columns=(*_COLUMNS, *_FILLED), boxes=len(_FILLED), notes=(*LEGEND, *CAUTIONS)
    )
