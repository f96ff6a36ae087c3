"""A tally file as one keying of a sheet, to be held against another."""

from __future__ import annotations

from pathlib import Path

from roundtui.domain.plain import plain
from roundtui.domain.second_keying import KeyedRow
from roundtui.domain.tally import draft_of
from roundtui.errors import Problem, ProblemsError
from roundtui.store.cells import Cells
from roundtui.store.csv_file import read_bytes, read_csv
from roundtui.store.tally_file import OPTIONAL, REQUIRED, visit_in


def read_keying(path: Path) -> list[KeyedRow]:
    """Rows of a tally file, whatever is set up; nothing is recorded.

    Args:
        path: The file.

    Returns:
        Its rows in order, those without an entry included: to leave a row blank is to key it.

    Raises:
        ProblemsError: Something in it is malformed.
    """
    name = plain(path.name, 80)
    content, problem = read_bytes(path)
    problems: list[Problem] = [problem] if problem is not None else []
    rows: list[KeyedRow] = []
    if problem is None:
        csv_rows, found = read_csv(name, content, REQUIRED, OPTIONAL)
        problems += found
        for csv_row in csv_rows:
            cells = Cells(csv_row, name)
            visit = visit_in(cells)
            problems += cells.problems
            if visit is not None:
                rows.append(
                    KeyedRow(
                        trap=visit.trap,
                        read_on=visit.read_on,
                        draft=draft_of(visit),
                        stage=cells.raw("stage"),
                        recount=visit.recount,
                    )
                )
    if problems:
        raise ProblemsError(f"{name} cannot be compared", tuple(problems), "mend the file")
    return rows
