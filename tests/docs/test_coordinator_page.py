"""The coordinator's page says what the program does."""

from __future__ import annotations

import re
from pathlib import Path

from roundtui.domain.inventory.plan_rules import SHIPPED_HANGING, Margins
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.traps.labels import SHEETS
from roundtui.store.office import read_office
from roundtui.store.reports import read_letters_office
from roundtui.store.season.season import read_season_office
from tests.docs.pages import DOCS

PAGE = (DOCS / "coordinator.md").read_text(encoding="utf-8")
SET_UP = (DOCS / "set-up.md").read_text(encoding="utf-8")


def test_the_office_files_on_the_page_are_read_without_a_fault(tmp_path: Path) -> None:
    examples = re.findall(r"`(\w+\.toml)`[^`]*(?:\([^)]*\))?:\n\n```toml\n(.*?)```", PAGE, re.DOTALL)
    assert [name for name, _ in examples] == [f"{of}.toml" for of in ("thresholds", "models", "samples", "letters")]
    for name, text in examples:
        (tmp_path / name).write_text(text, encoding="utf-8")
    rules = {rule.id: rule for rule in read_office(tmp_path).rules}
    assert (rules["ours-cm"].low, rules["ours-cm"].high) == (3, 5)
    assert read_season_office(tmp_path).models[0].id == "our-cm"
    assert read_letters_office(tmp_path, ["MOSS"]).declined == {"MOSS"}


def test_every_size_of_label_stands_on_the_page() -> None:
    rows = re.findall(r"\| `([^`]+)` \| (\S+) \| ([\d.]+) × ([\d.]+) mm \| (\d+) \|", PAGE)
    said = {(size, paper, float(width), float(height), int(each)) for size, paper, width, height, each in rows}
    assert said == {(sheet.size, sheet.paper, *sheet.label_mm, sheet.each) for sheet in SHEETS.values()}


def test_every_species_with_a_rule_stands_on_the_page_with_its_stage() -> None:
    table = PAGE.split("| species | hang | source |", 1)[1].split("\n\n", 1)[0]
    for line in table.splitlines()[2:]:
        codes, words = (cell.strip() for cell in line.strip("|").split(" | ")[:2])
        for species in codes.split(", "):
            stages = {rule.stage for rule in SHIPPED_HANGING if rule.species == species and rule.stage}
            assert all(f"({stage})" in words or f"as {stage}" in words for stage in stages)
    assert {code for line in table.splitlines()[2:] for code in line.split("|")[1].strip().split(", ")} == set(SPECIES)


def test_the_defaults_of_the_plan_are_those_of_the_page() -> None:
    usual = Margins()
    assert (usual.before_catch_days, usual.season_days, usual.tapes_per_trap, float(usual.spare_share)) == (
        14,
        160,
        2,
        0.1,
    )
    for number in ("14 where it is left out", "; 160", "# 2\n", "# 0.1"):
        assert number in SET_UP
