"""The page of set-up files: its columns are those of the code, its examples load, and it names every key."""

from __future__ import annotations

import re
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from roundtui.domain.programme.species import take_office_species
from roundtui.domain.toml_table import TableReader
from roundtui.store.bring.answers import read_answers
from roundtui.store.bring.table import Kind
from roundtui.store.folder import open_folder
from roundtui.store.inventory import read_plan_office
from roundtui.store.office import read_office
from roundtui.store.record.read import programme
from roundtui.store.reports import read_letters_office
from roundtui.store.season.season import read_season_office
from tests.docs import set_up_page

TEXT = set_up_page.PAGE.read_text(encoding="utf-8")
EXAMPLES = {
    title: example
    for title, section in re.findall(r"^## (\S+)\n(.*?)(?=^## |\Z)", TEXT, re.MULTILINE | re.DOTALL)
    for example in re.findall(r"```(?:csv|toml)\n(.*?)```", section, re.DOTALL)
}
NOW = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, content in EXAMPLES.items():
        if "." in name:
            (tmp_path / name).write_text(content, encoding="utf-8")
    return tmp_path


def test_the_columns_are_up_to_date() -> None:
    """Otherwise: python -m tests.docs.set_up_page."""
    assert set_up_page.page() == TEXT


def test_every_example_loads(folder: Path) -> None:
    with closing(open_folder(folder, now=NOW).conn) as conn:
        known = programme(conn)
    take_office_species(())
    assert (len(known.farms), len(known.blocks), len(known.traps), len(known.stops)) == (1, 1, 2, 2)
    assert next(rule.id for rule in read_office(folder).rules if rule.office) == "ours-cm"
    assert read_office(folder).samples
    assert read_season_office(folder).models[0].id == "our-cm"
    assert read_plan_office(folder).hanging[0].id == "ours-cm"
    assert read_letters_office(folder, known.farms).name == "Hollow Valley Scouting"


def test_every_key_that_a_file_can_have_stands_on_the_page(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: dict[str, set[str]] = {}
    has = TableReader.has

    def noted(self: TableReader, key: str) -> bool:
        asked.setdefault(self._where.split(".toml")[0], set()).add(key)
        return has(self, key)

    monkeypatch.setattr(TableReader, "has", noted)
    read_office(folder)
    read_season_office(folder)
    read_plan_office(folder)
    read_letters_office(folder, ["HF"])
    assert set(asked) == {"thresholds", "models", "plan", "samples", "letters"}
    for stem, keys in asked.items():
        text = EXAMPLES[f"{stem}.toml"]
        missing = {key for key in keys if not re.search(rf"^(\[+\S*\b)?{key}(\]| =)|\b{key} = ", text, re.MULTILINE)}
        assert not missing, f"{stem}.toml"


def test_the_mapping_on_the_page_is_one(tmp_path: Path) -> None:
    example = re.findall(r"```toml\n(.*?)```", TEXT.split("## Tables of your own")[1], re.DOTALL)[0]
    given = tmp_path / "map.toml"
    given.write_text(example, encoding="utf-8")
    answers = read_answers(tmp_path, Kind.COUNTS, Path("sheet.csv"), given)
    assert (answers.columns, answers.marks) == ({"wieviel": "count"}, {"-": "blank"})
    assert answers.fact("dates") == "dmy"
    assert answers.files["counts 2025.csv"]["station"] == "VALE"
