"""The blank sheet as plain text: pages of A4 or Letter at ten characters to the inch, parted by form feeds.

The blank sheet as one HTML file that needs nothing else: black on white, boxes wide enough for a cold hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from textwrap import wrap

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


_STYLE = """
@page { margin: 12mm; }
body { font: 10pt/1.25 sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 186mm; }
h1 { font-size: 14pt; margin: 0 0 2mm; }
p { margin: 0 0 1.5mm; }
.fill { display: flex; gap: 6mm; margin: 0 0 3mm; }
.fill span { flex: 1; border-bottom: 1px solid #000; padding-top: 5mm; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { border: 1px solid #000; padding: 0.5mm 1mm; text-align: left; overflow: hidden; overflow-wrap: anywhere; }
thead th { font-size: 8pt; border-width: 1px 1px 2px; }
tbody td { height: 9mm; }
td small { display: block; font-size: 7pt; }
.block th { border-width: 2px 1px 1px; background: #fff; break-after: avoid; font-size: 9pt; }
.block span { float: right; font-weight: normal; }
.due { font-weight: bold; }
.total td { height: 11mm; border-width: 3px 1px 1px; font-weight: bold; }
.small { font-size: 8pt; margin-top: 3mm; break-inside: avoid; }
.small p { margin: 0 0 0.7mm; }
"""
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
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{title}</title>
<style>{_STYLE}</style>
</head>
<body>
<h1>{title}</h1>
<div class="fill"><span>Read on</span><span>by</span><span>keyed by</span></div>
<table>
<colgroup>{cols}</colgroup>
<thead><tr>{names}</tr></thead>
<tbody>
{chr(10).join(body)}
<tr class="total"><td colspan="{len(_WIDTHS)}">Total of {number} rows</td>{"<td></td>" * len(COLUMNS)}</tr>
</tbody>
</table>
<div class="small">
{"".join(f"<p>{escape(words)}</p>" for words in (*LEGEND, *CAUTIONS))}
</div>
</body>
</html>
"""


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
    return f"<tr>{cells}{'<td></td>' * len(COLUMNS)}</tr>"


def _safe(text: str, width: int) -> str:
    return escape(sanitize(text, width))
