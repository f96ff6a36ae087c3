"""The house keeps to its laws, and the ruler measures."""

from __future__ import annotations

from pathlib import Path

from .laws import faults, measure


def test_files_code_folders_and_circles_are_within_their_limits() -> None:
    assert faults(measure()) == []


def test_code_is_counted_without_words_and_every_import_counts(tmp_path: Path) -> None:
    farm = tmp_path / "farm"
    (farm / "trap").mkdir(parents=True)
    (farm / "__init__.py").write_text('"""A farm."""\n', encoding="utf-8")
    (farm / "trap" / "__init__.py").write_text("", encoding="utf-8")
    (farm / "trap" / "lure.py").write_text(
        '"""Lures."""\n\n# why\nDAYS = 42  # of life\n"""How long."""\nTEXT = """\n\n# a line of text\n"""\n'
        "def last():\n    from ..liner import wet\n    return wet\n",
        encoding="utf-8",
    )
    (farm / "liner.py").write_text(
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import farm.trap.lure\nwet = True\n", encoding="utf-8"
    )
    (farm / "round.py").write_text("from farm.trap import lure\n", encoding="utf-8")
    house = measure(tmp_path, "farm")
    assert house.code == {"farm": 0, "farm.trap": 0, "farm.trap.lure": 8, "farm.liner": 4, "farm.round": 1}
    assert house.folders == {"farm": 2, "farm/trap": 1}
    assert house.circles == [["farm.liner", "farm.trap.lure"]]
    assert house.single == [("farm.liner", "farm.trap.lure")]
    assert house.unseen == []
    (farm / "trap" / "__init__.py").unlink()
    assert faults(measure(tmp_path, "farm"))[-1] == "no __init__.py in farm/trap: the import law does not see it"
