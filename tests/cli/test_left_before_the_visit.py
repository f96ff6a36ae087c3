"""A trap taken down between two visits, and a round that nobody walked: what the letter says of them."""

from __future__ import annotations

from pathlib import Path

from tests.cli.test_specimen_commands import FOUND, farm, run
from tests.cli.test_specimen_stories import WEEK_LATER, letters

__all__ = ["farm"]


def test_a_trap_that_left_before_the_next_visit_is_told_apart_from_one_that_nobody_read(
    farm: Path, tmp_path: Path
) -> None:
    run("take-down", farm, "A1", "--on", FOUND.replace(day=FOUND.day + 1), "--scout", "Ana", "--yes")
    letter = letters(farm, WEEK_LATER, tmp_path / "letters")
    assert "N North, A1: no entry, and taken down or moved away before the next visit." in letter
    assert "N North, A2 and A3: no entry was made." in letter
    assert "traps 0 of 3, not read." in letter
    notified = " ".join(run("summary", farm, "--on", WEEK_LATER).stdout.split())
    assert "A1 taken down or moved before the visit; A2 no entry; A3 no entry." in notified
