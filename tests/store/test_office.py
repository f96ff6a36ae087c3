"""An office's thresholds from its folder."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from roundtui.domain.figures.rules import SHIPPED_RULES
from roundtui.errors import ProblemsError
from roundtui.store.office import read_office
from tests.conftest import MakeFolder

RULE = """
[[rule]]
id = "ours"
species = "CM"
kind = "mean"
low = 2.1
high = 4
source = "the office"
date = 2026-03-01

[season]
starts_on = "03-01"
"""


def test_without_a_file_the_rules_that_ship_hold(make_folder: MakeFolder) -> None:
    office = read_office(make_folder())
    assert (office.rules, office.season_starts_on) == (SHIPPED_RULES, (1, 1))


def test_the_offices_rules_come_first_and_numbers_stay_exact(make_folder: MakeFolder) -> None:
    office = read_office(make_folder(thresholds=RULE))
    rule = office.rules[0]
    assert (rule.id, rule.low, rule.high, rule.date) == ("ours", Fraction(21, 10), Fraction(4), date(2026, 3, 1))
    assert office.rules[1:] == SHIPPED_RULES
    assert office.season_starts_on == (3, 1)


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (RULE.replace('"mean"', '"median"'), "kind"),
        ("[[rule]\n", "thresholds.toml: is no TOML: "),
        (b'[[rule]]\nid = "\xfc"\n', "thresholds.toml, line 2: is not UTF-8 text"),
        ("x = " + "[" * 5000, "thresholds.toml: is no TOML: "),
        ("x = " + "9" * 5000, "thresholds.toml: is no TOML: "),
        (RULE.replace("2.1", "1e99999999999999999999"), "thresholds.toml: is no TOML: "),
    ],
)
def test_what_is_wrong_is_named(make_folder: MakeFolder, content: str | bytes, fault: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        read_office(make_folder(thresholds=content))
    assert any(fault in str(problem) for problem in caught.value.problems), caught.value.problems


def test_a_folder_in_place_of_the_file_is_named(make_folder: MakeFolder) -> None:
    folder = make_folder()
    (folder / "thresholds.toml").mkdir()
    with pytest.raises(ProblemsError) as caught:
        read_office(folder)
    assert "is a folder, not a file" in str(caught.value.problems[0])
