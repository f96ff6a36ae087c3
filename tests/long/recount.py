"""Every number of the sample's summary of every day, counted again from the entries by plain SQL and pandas.

``python -m tests.long.recount [STEP]`` takes every STEP-th day (1); the suite takes a few. Of every seventh of them the
letters are counted again too.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from roundtui.report.letters.material import read_material
from roundtui.store.demo import prepare_demo
from roundtui.store.office import read_office
from tests.judge.test_recount import count_again, entries
from tests.report.letters.test_figures import letters_counted_again


def run(step: int = 1) -> None:
    """Count again; stops at the first day with a number that differs."""
    with tempfile.TemporaryDirectory() as place:
        demo = prepare_demo(Path(place) / "farm")
        with closing(sqlite3.connect(f"file:{demo.folder / 'roundtui.db'}?mode=ro", uri=True)) as conn:
            record = entries(conn, "visits", "read_on"), entries(conn, "stages", "seen_on")
            first = record[0]["read_on"].min()
            figures = 0
            days = [first + timedelta(days=at) for at in range(0, (demo.on - first).days + 1, step)]
            for day in days:
                count_again(day.isoformat(), conn, record, demo.folder)
            for day in days[::7]:
                material = read_material(conn, demo.folder, day, read_office(demo.folder))
                counted, differ = letters_counted_again(material, demo.folder, conn, day)
                assert not differ, (day, differ)
                figures += counted
    print(f"{len(days)} days, {days[0]} to {days[-1]}, and {figures} figures of letters: every number is the same")


if __name__ == "__main__":
    run(*map(int, sys.argv[1:]))
