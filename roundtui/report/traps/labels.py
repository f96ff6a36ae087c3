"""Labels as a printable page with a scannable code of each trap's label, and as text. The page needs nothing else.

Labels of traps, read from the record and written as a page or a text.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date
from html import escape
from pathlib import Path

from roundtui.domain.entries import Assembled
from roundtui.domain.text import sanitize
from roundtui.domain.traps.labels import SHEETS, USUAL_SHEET, LabelSheet, TrapLabel, trap_labels
from roundtui.errors import RefusedError
from roundtui.report.paper import page
from roundtui.store.files import write_whole
from roundtui.store.record.observations import present
from roundtui.store.record.read import programme
from roundtui.store.record.rows import ASSEMBLIES

_LINES = 8.6
"""Lines of the small size that a label holds, its own label among them at twice that size."""
_LARGEST_PT = 11.0
_MM_PER_PT = 25.4 / 72
_PAD_MM = 2.0
_CODE_SHARE = 0.32
"""Share of a label's width that the code takes at most."""
_LETTERS = 28
"""Letters that a line holds at least."""
_LETTER = 0.5
"""Usual width of a letter of a sans-serif face, in sizes of the face."""
BLANK = "______________"
"""Where the day of hanging is written in."""
_LONG = 9
"""A label of more characters is set smaller, so that it is never cut."""


def labels_html(labels: Sequence[TrapLabel], sheet: LabelSheet) -> str:
    """Labels as one HTML page, in black on white, to be printed unscaled.

    Args:
        labels: The labels.
        sheet: What they are printed on.
    """
    width, height = sheet.label_mm
    side = min(height - 2 * _PAD_MM, width * _CODE_SHARE)
    across = width - side - 3 * _PAD_MM
    size = min(_LARGEST_PT, (height - 2 * _PAD_MM) / _LINES / _MM_PER_PT, across / _LETTERS / _LETTER / _MM_PER_PT)
    return page(
        "labels.html",
        labels=labels,
        sheet=sheet,
        code=code_svg,
        lines=_lines,
        long=_LONG,
        room=int(across / (size * _MM_PER_PT * _LETTER)),
        pad=_PAD_MM,
        size=f"{size:.2f}",
        side=f"{side:.2f}",
    )


def code_svg(text: str) -> str:
    """A scannable code (QR, ISO/IEC 18004, error correction M) as an SVG without any outside part.

    Args:
        text: What it holds.
    """
    # Loaded on first use: labels are printed once a season.
    import segno

    if text.isascii():
        made = segno.make(text, error="m", micro=False)
    else:
        # Left to itself it takes some pairs of bytes for Japanese characters, and another label is read.
        made = segno.make(text, error="m", micro=False, mode="byte", encoding="utf-8", eci=True)
    drawn: str = made.svg_inline(border=4, omitsize=True, svgclass=None, lineclass=None)
    name = escape(f"Code of trap {sanitize(text)}", quote=True)
    return drawn.replace("<svg ", f'<svg role="img" aria-label="{name}" ', 1)


def labels_text(labels: Sequence[TrapLabel]) -> str:
    """Labels as text, an empty line between two.

    Args:
        labels: The labels.
    """
    return "\n".join(
        "\n".join([sanitize(one.trap), *(f"  {sanitize(line)}" for line in _lines(one) if line), ""]) for one in labels
    )


def _lines(one: TrapLabel) -> list[str]:
    return [
        f"{one.species} {one.species_name}".strip(),
        f"block {one.block}" if one.block else "",
        ", ".join(part for part in (one.place, one.farm) if part),
        ", ".join(f"{part} {said}" for part, said in one.parts),
        f"set on {one.set_on.isoformat() if one.set_on else BLANK}",
    ]


def assembled(conn: sqlite3.Connection, on: date = date.max) -> tuple[Assembled, ...]:
    """Traps put together up to a day.

    Args:
        conn: The store.
        on: The day.

    Raises:
        StoreError: The store cannot be read.
    """
    return tuple(present(conn, ASSEMBLIES, date.min, on))


def write_labels(
    conn: sqlite3.Connection, on: date, to: Path, size: str = USUAL_SHEET, chosen: Sequence[str] = ()
) -> int:
    """Write labels, as text where the name ends in .txt, else as a page.

    Args:
        conn: The store.
        on: The day.
        to: The file.
        size: A word of ``SHEETS``.
        chosen: Only these traps; empty: all that hang, hung last season or were assembled since.

    Returns:
        How many labels.

    Raises:
        RefusedError: There is no trap to label.
        StoreError: The store cannot be read, or the file not written.
    """
    labels = trap_labels(programme(conn), on, assembled(conn, on), chosen)
    if not labels:
        raise RefusedError(
            "there is no trap to label",
            "set traps up in traps.csv, or assemble them, or name those that were taken down long ago",
        )
    if to.suffix.lower() == ".txt":
        write_whole(to, labels_text(labels))
    else:
        write_whole(to, labels_html(labels, SHEETS[size]))
    return len(labels)
