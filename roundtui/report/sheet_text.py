"""The blank sheet as plain text: pages of A4 or Letter at ten characters to the inch, parted by form feeds."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from roundtui.domain.plain import padded, plain
from roundtui.domain.sheet_paper import CAUTIONS, LEGEND, Paper, PaperBlock, PaperRow

WIDTH = 76
"""Characters a line; ten to the inch leave a margin on A4 and Letter. [characters]"""
PAGE_LINES = 58
"""Lines a page, at six to the inch; Letter is the shorter of the two. [lines]"""
_BOXES = (("count", 6), ("oth.", 4), ("lin", 3), ("lur", 3), ("str", 3), ("n.r", 3), ("note", 10))
_LEFT = WIDTH - sum(width for _, width in _BOXES) - len(_BOXES) - 1
_OPEN = "|" + "|".join(" " * width for _, width in _BOXES) + "|"
_CLOSED = "|" + "|".join("_" * width for _, width in _BOXES) + "|"
_RULE = "-" * _LEFT + "+" + "+".join("-" * width for _, width in _BOXES) + "+"


def sheet_text(paper: Paper) -> str:
    """The sheet as text.

    Args:
        paper: The sheet.

    Returns:
        Pages parted by form feeds; each has its head and the totals to its last row, the first also the notation and
        the cautions.
    """
    foot = _foot()
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
    made = [
        "\n".join([*_head(paper, at, len(pages)), *lines, *_totals(last), *(foot if at == 1 else ())])
        for at, (lines, last) in enumerate(zip(pages, totals, strict=True), 1)
    ]
    return "\n\f".join(made) + "\n"


def _head(paper: Paper, page: int, pages: int) -> Iterator[str]:
    right = f"page {page} of {pages}"
    left = f"Round {plain(paper.route, 30)}   {paper.on:%a} {paper.on.isoformat()}"
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
        lines.append(plain(f"{plain(block.farm, 34)}   entry interval checked [  ]  signs read [  ]", WIDTH))
    lines.append(plain(f"block {plain(block.block, 48)}   stage ____", WIDTH))
    if block.note:
        lines.append(plain(f"! {block.note}", WIDTH))
    return lines


def _row(number: int, row: PaperRow) -> list[str]:
    left = f"{number:>3} {padded(row.trap, 10)} {padded(row.species, 5)} {row.last}"
    below = "  ".join(filter(None, (f"due: {', '.join(row.due)}" if row.due else "", row.where)))
    return [padded(left, _LEFT) + _OPEN, padded(f"    {below}", _LEFT) + _CLOSED]


def _totals(rows: int) -> list[str]:
    return [padded(f"Total to row {rows}", _LEFT) + _OPEN, padded("", _LEFT) + _CLOSED]


def _foot() -> list[str]:
    lines = []
    for words in (*LEGEND, *CAUTIONS):
        lines += wrap(words, WIDTH, subsequent_indent="  ")
    return lines
