"""Random farms through the store and back: what a summary reads of the record is enough, and every number is right."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest

from roundtui.domain.figures.summary import summarise
from roundtui.report.figures.summary import summary_json
from roundtui.store.figures.history import history
from roundtui.store.office import read_office
from roundtui.store.read import programme

from .random_farm import FIRST, LAST, RandomFarm
from .recount import Recount, Setup
from .test_recount import entries, figures, sanitize


def differences(folder: Path, seed: int, days: int) -> dict[str, dict[str, tuple[object, object]]]:
    """Figures of some days on which product and judge differ."""
    found = {}
    office, setup = read_office(folder), Setup(folder)
    with closing(sqlite3.connect(folder / "roundtui.db")) as conn:
        farms = programme(conn)
        record = entries(conn, "visits", "read_on"), entries(conn, "stages", "seen_on")
        for _ in range(days):
            on = FIRST + timedelta(days=Random(seed + _).randint(10, (LAST - FIRST).days + 20))
            product = figures(summary_json(summarise(farms, history(conn, farms, on, office), office, on)))
            again = Recount(setup, *record, on)
            judge = figures(sanitize(again.summary()))
            differ = {
                key: (product.get(key, "missing"), judge.get(key, "missing"))
                for key in sorted(product.keys() | judge.keys())
                # What is unlikely is settled on the sample: at its margin it is a matter of taste, not of counting.
                if not key.startswith("unlikely") and product.get(key, "missing") != judge.get(key, "missing")
            }
            if differ:
                found[on.isoformat()] = differ
    return found


@pytest.mark.parametrize("seed", [0, 5, 14, 78, 85, 94])
def test_a_random_farm_is_counted_alike_twice(seed: int, tmp_path: Path) -> None:
    RandomFarm(tmp_path, seed)

    assert differences(tmp_path, seed, 6) == {}
