"""The page on plans says what the program does."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal
from pathlib import Path

from roundtui.domain.inventory.plan_rules import SHIPPED_HANGING, Margins, parse_plan
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.traps.labels import SHEETS

PAGE = (Path(__file__).parents[2] / "docs" / "plan.md").read_text(encoding="utf-8")


def test_what_the_page_calls_a_plan_file_is_one() -> None:
    (text,) = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    office, problems = parse_plan(tomllib.loads(text, parse_float=Decimal))
    assert problems == ()
    assert office is not None
    assert office.wanted("N", "CM") == 4


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


def test_the_habits_are_those_of_the_page() -> None:
    usual = Margins()
    assert (usual.before_catch_days, usual.season_days, usual.tapes_per_trap, float(usual.spare_share)) == (
        14,
        160,
        2,
        0.1,
    )
    for number in ("14 where it is left out", "; 160", "# 2\n", "# 0.1"):
        assert number in PAGE
