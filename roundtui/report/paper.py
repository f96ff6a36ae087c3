"""The blank sheet as plain text: pages of A4 or Letter at ten characters to the inch, parted by form feeds.

The blank sheet as one HTML file that needs nothing else: black on white, boxes wide enough for a cold hand.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape
from pathlib import Path
from string import Template
from textwrap import wrap
from types import MappingProxyType

from roundtui.domain.paper.sheet import CAUTIONS, COLUMNS, LEGEND, Paper, PaperBlock, PaperRow
from roundtui.domain.text import padded, sanitize

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


def _totals(rows: int) -> list[str]:
    return [padded(f"Total to row {rows}", _LEFT) + _OPEN, padded("", _LEFT) + _CLOSED]


def _foot() -> list[str]:
    lines = []
    for words in (*LEGEND, *CAUTIONS):
        lines += wrap(words, WIDTH, subsequent_indent="  ")
    return lines


def html_page(title: str, style: Path, body: str, said: Mapping[str, object] = MappingProxyType({})) -> str:
    """A page that stands alone, to be printed.

    Args:
        title: Its title, escaped.
        style: File of its style.
        body: What it shows, as HTML.
        said: Lengths that stand in the style as names with a dollar.
    """
    css = Template(style.read_text(encoding="utf-8")).substitute(said)
    head = f'<meta charset="utf-8">\n<title>{title}</title>\n<style>\n{css}</style>'
    return f'<!DOCTYPE html>\n<html lang="en">\n<head>\n{head}\n</head>\n<body>\n{body}\n</body>\n</html>\n'


_BLANK = "<td></td>" * len(COLUMNS)
_WIDTHS = (("no", 6), ("trap", 13), ("sp.", 8), ("last", 8), ("due", 13))
_BOXES_SHEET_HTML = dict(zip(COLUMNS, (14, 8, 6, 6, 7, 9, 17), strict=True))


def sheet_html(paper: Paper) -> str:
    """The sheet as HTML.

    Args:
        paper: The sheet.
    """
    widths = [*(width for _, width in _WIDTHS), *_BOXES_SHEET_HTML.values()]
    share = 100 / sum(widths)
    cols = "".join(f'<col style="width:{width * share:.1f}%">' for width in widths)
    names = "".join(f"<th>{name}</th>" for name, _ in _WIDTHS) + "".join(f"<th>{name}</th>" for name in COLUMNS)
    body: list[str] = []
    number = 0
    for block in paper.blocks:
        body.append(_block(block))
        for row in block.rows:
            number += 1
            body.append(_row_sheet_html(number, row))
    title = f"Round {_safe(paper.route, 60)}, {paper.on:%a} {paper.on.isoformat()}"
    body.append(f'<tr class="total"><td colspan="{len(_WIDTHS)}">Total of {number} rows</td>{_BLANK}</tr>')
    parts = (
        f"<h1>{title}</h1>",
        '<div class="fill"><span>Read on</span><span>by</span><span>keyed by</span></div>',
        f"<table>\n<colgroup>{cols}</colgroup>\n<thead><tr>{names}</tr></thead>\n<tbody>",
        *body,
        '</tbody>\n</table>\n<div class="small">',
        "".join(f"<p>{escape(words)}</p>" for words in (*LEGEND, *CAUTIONS)),
        "</div>",
    )
    return html_page(title, Path(__file__).with_name("sheet.css"), "\n".join(parts))


def _block(block: PaperBlock) -> str:
    farm = f"{_safe(block.farm, 60)}: " if block.farm else ""
    check = "entry interval checked &#9744; signs read &#9744; &nbsp; " if block.farm else ""
    note = f"<br>! {_safe(block.note, 120)}" if block.note else ""
    columns = len(_WIDTHS) + len(COLUMNS)
    return (
        f'<tr class="block"><th colspan="{columns}"><span>{check}stage ______</span>'
        f"{farm}block {_safe(block.block, 80)}{note}</th></tr>"
    )


def _row_sheet_html(number: int, row: PaperRow) -> str:
    where = f"<small>{_safe(row.where, 40)}</small>" if row.where else ""
    cells = (
        f"<td>{number}</td><td><b>{_safe(row.trap, 24)}</b>{where}</td><td>{_safe(row.species, 12)}</td>"
        f'<td>{_safe(row.last, 12)}</td><td class="due">{_safe(", ".join(row.due), 40)}</td>'
    )
    return f"<tr>{cells}{_BLANK}</tr>"


def _safe(text: str, width: int) -> str:
    return escape(sanitize(text, width))
