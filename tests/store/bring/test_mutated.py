"""A share of the tables with something wrong; the rest is ``tests/long/mutated_tables.py``."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.long.mutated_tables import run


def test_no_table_brings_a_traceback_or_half_of_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    came = run(30, 2)
    assert came.total() == 30
    assert came["refused"] + came["in part"] > 3
