"""The page of open files; its tables of columns are made from what the export says of itself.

python -m tests.docs.open_files_page          # writes docs/open-files.md
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from roundtui.store.db import migrate
from roundtui.store.exchange.package import Member, members

PAGE = Path(__file__).parents[2] / "docs" / "open-files.md"
HEAD = Path(__file__).with_name("open_files_head.md")


def page() -> str:
    """The page as it should stand."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as conn:
        migrate(conn)
        tables = members(conn)
    return HEAD.read_text(encoding="utf-8") + "\n" + "\n".join(line for table in tables for line in section(table))


def section(member: Member) -> Iterator[str]:
    """One table with its columns."""
    yield f"### {member.name}\n"
    yield f"{member.about} One row is told from another by {', '.join(f'`{column}`' for column in member.key)}.\n"
    yield "| column | type | holds |"
    yield "| --- | --- | --- |"
    refers = {column: (other or member.name, key) for column, other, key in member.references}
    for column, field in zip(member.columns, member.fields, strict=True):
        words = field.about
        if "enum" in field.constraints:
            words += f" One of {', '.join(field.constraints['enum'])}."
        if column in refers:
            words += f" Names a row of {refers[column][0]}."
        if (field.blank or field.optional) and "lank" not in words:
            words += " May be blank."
        yield f"| `{column}` | {field.kind} | {words} |"
    yield ""


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
