"""Random farms through a data package: whatever a record holds, the folder made of it says the same."""

from __future__ import annotations

from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from roundtui.domain.figures.summary import summarise
from roundtui.report.figures.summary import summary_json
from roundtui.store.checks.verify import verify
from roundtui.store.connect import open_store
from roundtui.store.exchange.importing import import_package
from roundtui.store.exchange.package import write_package
from roundtui.store.figures.history import history
from roundtui.store.office import read_office
from roundtui.store.record.read import programme

from .random_farm import FIRST, NOW, RandomFarm


@pytest.mark.parametrize("seed", [3, 21, 78])
def test_a_random_farm_survives_its_package(seed: int, tmp_path: Path) -> None:
    (tmp_path / "farm").mkdir()
    RandomFarm(tmp_path / "farm", seed)
    with closing(open_store(tmp_path / "farm", now=NOW)) as conn:
        write_package(conn, tmp_path / "farm", tmp_path / "out", NOW)

    import_package(tmp_path / "again", tmp_path / "out", NOW)

    assert said(tmp_path / "again") == said(tmp_path / "farm")
    with closing(open_store(tmp_path / "again", now=NOW)) as conn:
        faults = [fault for check in verify(conn, "truck") for fault in check.faults]
    assert faults == []


def said(folder: Path) -> list[object]:
    """The summaries of days all over two years."""
    with closing(open_store(folder, now=NOW)) as conn:
        known, office = programme(conn), read_office(folder)
        days = [FIRST + timedelta(days=step) for step in range(30, 500, 45)]
        return [summary_json(summarise(known, history(conn, known, day, office), office, day)) for day in days]
