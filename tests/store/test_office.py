"""An office's thresholds from its folder."""

from __future__ import annotations

import tomllib
from contextlib import closing
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from roundtui.domain.figures.rules import SHIPPED_RULES, parse_office
from roundtui.domain.inventory.plan_rules import parse_plan
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.set_up import office_rows
from roundtui.store.set_up.office_rows import put, rules_in
from tests.conftest import NOW, MakeFolder

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


def test_a_rule_is_put_in_and_taken_out_and_every_other_line_stays(make_folder: MakeFolder) -> None:
    text = f"# Ours.\n{RULE}\n[[rule]] # the second\nid = 'late'\n# Kept with it.\nkind = 'mean'\n\n# Ends.\n"
    text = text.replace("id = 'late'", "id = 'late'\nspecies = 'CM'\nlow = 3\nsource = 'x'\ndate = 2026-03-01")
    folder = make_folder(thresholds=text)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        first, second = [row for row in rules_in(conn) if row["origin"] == ""]
        cells = {column: first[column] for column in (*office_rows.RULE.required, *office_rows.RULE.optional)}
        assert (cells["low"], cells["date"], second["id"]) == ("2.1", "2026-03-01", "late")
        typed = cells | {"high": "4,5", "months": "5-7", "load_mg": "1", "style": "delta; Big delta", "edge": "yes"}
        _, _, becomes = put(conn, office_rows.RULE, 0, typed, ())
        rest = text.partition("\n[season]")[2]
        assert becomes["text"].startswith("# Ours.\n\n[[rule]]\n")
        assert becomes["text"].endswith(f"\n[season]{rest}")
        office, problems = parse_office(tomllib.loads(becomes["text"], parse_float=Decimal))
        assert not problems
        assert office is not None
        rule = office.rules[0]
        assert (rule.high, rule.months, rule.load_mg) == (Fraction(9, 2), (5, 6, 7), (1, 1))
        assert (rule.style, rule.edge) == (("delta", "big-delta"), True)
        _, _, without = put(conn, office_rows.RULE, 1, None, ())
        assert without["text"] == text.partition("[[rule]] # the second")[0] + "\n# Ends.\n"


def test_how_often_traps_are_visited_is_put_in_by_the_form(make_folder: MakeFolder) -> None:
    visits = next(one for one in office_rows.OTHERS if one.table == "visits")
    typed = {"every": "FREQ=DAILY;INTERVAL=3", "source": "Taiwan 2012", "months": "5-6", "degree_days": "800 1010"}
    with closing(open_folder(make_folder(), now=NOW).conn) as conn:
        office, problems = parse_plan(tomllib.loads(put(conn, visits, None, typed, ())[2]["text"]))
        assert not problems
        assert office is not None
        assert (office.visits[0].months, office.visits[0].degree_days) == ((5, 6), (800, 1010))
        with pytest.raises(ProblemsError, match="refused that"):
            put(conn, visits, None, typed | {"every": "now and then"}, ())


def test_a_rule_of_finds_is_put_in_by_the_form(make_folder: MakeFolder) -> None:
    finds = next(one for one in office_rows.OTHERS if one.table == "find")
    typed = {"species": "CM", "finds": "2", "within_m": "804.672", "days": "60", "source": "ours"}
    with closing(open_folder(make_folder(), now=NOW).conn) as conn:
        text = put(conn, finds, None, typed | {"zones_m": "1000, 3000", "act_hours": "48"}, ())[2]["text"]
        office, problems = parse_plan(tomllib.loads(text, parse_float=Decimal))
        assert not problems
        assert office is not None
        (rule,) = office.finds
        assert (rule.finds, rule.within_m, rule.days, rule.zones_m) == (2, 804.672, 60, (1000, 3000))
        assert (rule.clear_days, rule.act_hours) == (None, 48)
        with pytest.raises(ProblemsError, match="refused that"):
            put(conn, finds, None, typed | {"days": ""}, ())


@pytest.mark.parametrize(
    ("column", "typed", "fault"),
    [
        ("low", "9", "low: is above high"),
        ("high", "many", 'high: "many" is no number'),
        ("source", "", "source: is missing"),
        ("species", "codling moth", 'species: "codling moth" is unknown (write CM)'),
        ("id", 'a"b\\', ""),
    ],
)
def test_a_rule_that_cannot_be_is_refused_at_its_column(
    make_folder: MakeFolder, column: str, typed: str, fault: str
) -> None:
    with closing(open_folder(make_folder(thresholds=RULE), now=NOW).conn) as conn:
        row = rules_in(conn)[0]
        cells = {name: row[name] for name in (*office_rows.RULE.required, *office_rows.RULE.optional)} | {column: typed}
        if not fault:
            assert tomllib.loads(put(conn, office_rows.RULE, 0, cells, ())[2]["text"])["rule"][0][column] == typed
            return
        with pytest.raises(ProblemsError) as refused:
            put(conn, office_rows.RULE, 0, cells, ())
        assert str(refused.value.problems[0]).startswith(fault)


def test_a_file_that_only_a_person_can_change_is_left_to_her(make_folder: MakeFolder) -> None:
    folder = make_folder(thresholds=RULE.replace("[season]", "[ season ]").replace("[[rule]]", "[['rule']]"))
    with (
        closing(open_folder(folder, now=NOW).conn) as conn,
        pytest.raises(RefusedError, match="cannot be changed here"),
    ):
        put(conn, office_rows.RULE, 0, None, ())
