"""The rules seen published: each can be taken up as it stands, and none judges before that.

The numbers here are read from the sources named in the rows, a second time and by hand.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner

from roundtui.cli import main
from roundtui.domain.figures.rules import SHIPPED_RULES, RuleKind, parse_office
from roundtui.store.office import read_office, read_published_rules
from tests.domain.orchard import Orchard

BY_ID = {one.rule.id: one for one in read_published_rules()}
WEEK, TWO_WEEKS, SUM = RuleKind.SINGLE_TRAP, RuleKind.RUNNING, RuleKind.CUMULATIVE


@pytest.mark.parametrize("one", BY_ID.values(), ids=BY_ID)
def test_each_can_be_pasted_into_thresholds(one: object) -> None:
    text = one.toml(date(2026, 3, 1))  # type: ignore[attr-defined]
    office, problems = parse_office(tomllib.loads(text, parse_float=Decimal))
    assert problems == ()
    assert office
    rule = office.rules[0]
    assert (rule.region, rule.office, rule.date) == (one.rule.region, True, date(2026, 3, 1))  # type: ignore[attr-defined]
    assert rule.region
    assert rule.source
    assert one.seen in ("page", "abstract", "copy")  # type: ignore[attr-defined]


def test_none_judges_before_an_office_takes_it_up(tmp_path: Path) -> None:
    assert read_office(tmp_path).rules == SHIPPED_RULES
    assert not {rule.id for rule in SHIPPED_RULES} & BY_ID.keys()
    assert len(BY_ID) == len(read_published_rules()), "each has its own name"


@pytest.mark.parametrize(
    ("id_", "kind", "high", "compare"),
    [
        ("cm-west-virginia", WEEK, "5", ">"),  # "exceeds 5 moths/trap/week": The Orchard Monitor 2005 and 2007
        ("cm-wisconsin", WEEK, "5", ">="),  # Wisconsin DATCP 2013
        ("cm-england-late", WEEK, "3", ">="),  # NIAB, August and September
        ("cm-north-carolina", TWO_WEEKS, "2", ">"),  # "> 2 moths/trap during 2 consecutive weeks"
        ("cm-italy", SUM, "2", ">="),  # Edagricole, in one to two weeks
        ("ofm-west-virginia", WEEK, "10", ">"),  # The Orchard Monitor, 23 July 2007
        ("ofm-new-jersey", RuleKind.MEAN, "6", ">"),  # Rutgers 2015
        ("ofm-ontario-disrupted", WEEK, "0", ">"),  # Ontario: expect zero
        ("sft-belgium", RuleKind.MEAN, "40", ">"),  # studylibfr.com/doc/4606602, up to 20 nothing is done
        ("am-new-york-2", SUM, "2", ">="),  # Timing treatments for apple maggot, 12 days
        ("bmsb-mid-atlantic", SUM, "10", ">="),  # Short, Khrimian & Leskey 2017
        ("bmsb-new-york", RuleKind.MEAN, "10", ">="),  # Cornell: the same number a week
        ("eas-massachusetts-sprayed", SUM, "5.5", ">="),  # the primary study
        ("eas-pennsylvania-sprayed", SUM, "4.7", ">="),  # its two numbers the other way round
        ("tpb-massachusetts-pink", SUM, "4.4", ">="),  # Environ. Entomol. 11:200
        ("pc-arkansas", RuleKind.MEAN, "0.315", ">"),  # 0.045 a trap and day, seven days
    ],
)
def test_the_numbers_are_those_of_the_source(id_: str, kind: RuleKind, high: str, compare: str) -> None:
    rule = BY_ID[id_].rule
    assert (rule.kind, rule.high, rule.compare) == (kind, Fraction(high), compare)


def test_a_curculio_threshold_is_where_its_injury_line_reaches_one_per_cent() -> None:
    """Injury in per cent = 0.33 + 14.49 x adults a pyramid and day; 0.045 of them are 0.98 %. Four pyramids with 23
    adults five days after they were cleared have 1.15 a trap and day: over.

    Sources: probably Johnson et al. 2002 (an unsigned copy); Alabama 2012, aces.edu/mt/peachipm/archives/004057.php.
    """
    a_day = BY_ID["pc-arkansas"].rule.high / 7
    assert (float(a_day), round(0.33 + 14.49 * float(a_day), 2)) == (0.045, 0.98)
    orchard = Orchard(rules=(replace(BY_ID["pc-arkansas"].rule, office=True),))
    orchard.hang("P1", "P2", "P3", "P4", on="03-08", species="PC", style="pyramid")
    for trap, count in (("P1", 5), ("P2", 6), ("P3", 6), ("P4", 6)):
        orchard.visit(trap, "03-13", count)
    row = orchard.row("03-13", species="PC")
    assert (row.status, row.per_day) == ("over", Fraction(23, 20))


def test_two_of_two_levels_and_the_ranges_printed_for_white_boards_are_ranges() -> None:
    """Up to 20 summer fruit tortrix leave alone, over 40 send to the shoots (Belgium); sawfly 4-5 and 6-9 (Maine)."""
    found = {id_: (BY_ID[id_].rule.low, BY_ID[id_].rule.high) for id_ in BY_ID}
    assert found["sft-belgium"] == (20, 40)
    assert (found["eas-maine-unsprayed"], found["eas-maine-sprayed"]) == ((4, 5), (6, 9))


def test_two_weeks_running_is_asked_of_one_trap_where_print_says_so() -> None:
    """ "Two or more moths per trap per week during 2 consecutive weeks": Vakenti & Madsen 1976; Brunner 1993."""
    for id_ in ("cm-british-columbia", "cm-washington"):
        rule = BY_ID[id_].rule
        assert (rule.kind, rule.weeks, rule.high) == (WEEK, 2, 2)


def test_where_print_says_that_the_catch_does_not_decide_no_number_stands() -> None:
    timing = Counter(one.rule.species for one in BY_ID.values() if one.rule.timing_only)
    assert timing == {"OBLR": 2, "RBLR": 1, "STLM": 1, "PFM": 1, "WCFF": 1, "BCFF": 1, "SWD": 1, "PC": 1, "SJS": 1}
    assert all("high" not in one.written for one in BY_ID.values() if one.rule.timing_only)


def test_the_command_lists_by_species_and_region_and_prints_one_to_paste() -> None:
    run = CliRunner().invoke(main, ["rules", "--species", "codling moth", "--region", "virginia"])
    assert run.exit_code == 0
    assert "cm-west-virginia: CM, any trap more than 5" in run.output
    assert "cm-england" not in run.output
    assert "ofm" not in run.output
    run = CliRunner().invoke(main, ["rules", "--copy", "cm-italy"])
    assert tomllib.loads(run.output)["rule"][0]["days"] == 14
    assert CliRunner().invoke(main, ["rules", "--copy", "cm-nowhere"]).exit_code == 1
