"""A lure that is found makes the trap wrong since its lure was last changed; what that changes is named."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from datetime import date
from fractions import Fraction

from roundtui.domain.entries import Visit
from roundtui.domain.figures.blocks import Record
from roundtui.domain.figures.found_lures import FoundChange, FoundLure
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import summarise
from roundtui.domain.figures.verdicts import Status, Summary, TroubleKind
from roundtui.report.figures.changes import found_mark, found_words
from tests.domain.orchard import Orchard, day

ON = "05-22"


def orchard() -> Orchard:
    """Three traps hung on 1 May and read weekly; A2, which catches most, got a new lure on the 8th."""
    there = Orchard()
    there.hang("A1", "A2", "A3", on="05-01")
    there.hang("B1", on="05-01", block="N2", species="OFM")
    for on in ("05-08", "05-15"):
        there.visit("A1", on, 2)
        there.visit("A2", on, 9, **({"lure": "yes"} if on == "05-08" else {}))
        there.visit("A3", on, 1)
        there.visit("B1", on, 4)
    there.visit("A1", ON, 2)
    there.visit("A3", ON, 1)
    return there


def office(there: Orchard) -> Office:
    return Office(rules=there.rules, season_starts_on=there.starts_on)


def lure(there: Orchard, visit: Visit, on: str = ON) -> FoundLure:
    record = Record(there.programme, there.history(day(on)), office(there), day(on), {}, ())
    return FoundLure(record, visit)


def found(there: Orchard, trap: str, on: str = ON, **said: object) -> FoundChange:
    visit = Visit(trap=trap, read_on=day(on), **said)  # type: ignore[arg-type]
    return lure(there, visit, on).change(visit)


def summary_with(there: Orchard, visit: Visit, on: date) -> Summary:
    """The summary as it will be, from a record that has the visit."""
    after = deepcopy(there)
    after.visits = [one for one in after.visits if one.id not in {visit.id, visit.replaces}] + [visit]
    return summarise(after.programme, after.history(on), office(after), on)


def test_readings_since_the_lure_was_changed_turn_suspect_and_the_block_falls_below_its_band() -> None:
    """A2 held an OFM lure since 8 May: two readings of 9 moths, without which 2 and 1 a week are left."""
    change = found(orchard(), "A2", count=9, lure_found="OFM")
    assert (change.before, change.suspect, change.trusted) == (None, 2, 0)
    assert change.after is not None
    assert (change.after.kind, change.after.since) == (TroubleKind.WRONG_LURE, day("05-08"))
    ((was, now),) = change.blocks
    assert (was.status, was.mean_per_week) == (Status.WITHIN, 4)
    assert (now.status, now.mean_per_week) == (Status.BELOW, Fraction(3, 2))
    assert found_words(change) == "wrong since 8 May: 2 readings suspect; N1 CM within at 4.0, now below at 1.5"


def test_before_the_count_is_typed_what_is_on_record_alone_is_looked_at() -> None:
    change = found(orchard(), "A2", lure_found="OFM")
    assert change.suspect == 1
    assert change.blocks == ()
    assert found_words(change) == "wrong since 8 May: 1 reading suspect"


def test_a_count_may_change_after_the_lure_was_looked_at_once() -> None:
    there = orchard()
    looked = lure(there, Visit(trap="A2", read_on=day(ON), lure_found="OFM"))
    for count in (None, 0, 9, 90):
        visit = Visit(trap="A2", read_on=day(ON), lure_found="OFM", count=count)
        assert looked.change(visit) == lure(there, visit).change(visit)


def test_what_is_named_is_where_the_summaries_with_and_without_the_find_differ() -> None:
    """Each way in which a lure can be found, against the summary of the whole record."""
    there = orchard()
    there.hang("C1", "C2", on="05-01", block="N3")
    there.hang("C3", on="05-01", block="N3", species="OFM", body_label="X")
    there.visit("C1", "05-08", 6, lure_found="OFM")
    there.visit("C2", "05-08", 6, body="X")
    there.visit("C3", "05-08", 6)
    there.visit("C1", "05-15", 6, lure="yes")
    old = next(one for one in there.visits if one.trap == "A2" and one.read_on == day("05-15"))
    visits = [
        Visit(trap="A2", read_on=day(ON), count=9, lure_found="OFM"),
        Visit(trap="A2", read_on=day(ON), count=9, lure_found="none", lure="yes"),
        Visit(trap="B1", read_on=day(ON), count=3, lure_found="CM"),
        Visit(trap="C1", read_on=day(ON), count=3, lure_found="yes"),
        Visit(trap="C1", read_on=day(ON), count=3, lure_found="OFM", body="yes"),
        Visit(trap="C3", read_on=day(ON), count=3, lure_found="CM"),
        Visit(trap="A2", read_on=day("05-15"), count=9, lure_found="OFM", replaces=old.id),
    ]
    for visit in visits:
        change = lure(there, visit).change(visit)
        bare = Visit(trap=visit.trap, read_on=visit.read_on, count=visit.count, lure=visit.lure, body=visit.body)
        without = summary_with(there, Visit(**{**_said(bare), "replaces": visit.replaces}), day(ON))
        having = summary_with(there, visit, day(ON))
        # What a found lure changes is named without how sure the figures are.
        rows = [
            (replace(was, not_rated=""), replace(now, not_rated=""))
            for was in sorted(without.blocks, key=lambda row: (row.block, row.species))
            for now in having.blocks
            if (was.block, was.species) == (now.block, now.species)
            and (was.status, was.mean_per_week) != (now.status, now.mean_per_week)
        ]
        assert list(change.blocks) == rows, visit
        for side, trouble in ((without, change.before), (having, change.after)):
            assert trouble == next((one for one in side.integrity if one.trap == visit.trap), None), visit


def _said(visit: Visit) -> dict[str, object]:
    return {name: getattr(visit, name) for name in ("trap", "read_on", "count", "lure", "body")}


def test_two_traps_that_hold_each_others_lure_are_named_as_a_pair() -> None:
    there = orchard()
    there.visit("B1", ON, 3, lure_found="CM")
    change = found(there, "A3", count=1, lure_found="OFM")
    assert found_words(change).startswith("swapped with B1 since 1 May: 3 readings suspect")


def test_no_lure_and_a_trap_hung_without_a_date_are_said_as_such() -> None:
    there = Orchard()
    there.hang("A1", on=None)
    there.visit("A1", "05-08", 2)
    assert found_words(found(there, "A1", "05-15", count=3, lure_found="none")).startswith("no lure since it was hung")


def test_a_find_that_was_known_changes_nothing_and_says_so() -> None:
    there = orchard()
    there.visit("A2", "05-15", None, lure_found="OFM")
    assert found_words(found(there, "A2", count=9, lure_found="OFM")) == "known before: wrong since 8 May"
    assert (
        found_words(found(orchard(), "A2", count=9, lure_found="yes")) == "nothing changes: its own lure, not suspect"
    )


def test_a_wrong_lure_that_is_put_right_on_the_visit_that_finds_it_is_not_said_to_be_its_own() -> None:
    change = found(orchard(), "A2", count=9, lure_found="OFM", lure="yes", body="yes")
    assert (change.before, change.after, change.suspect) == (None, None, 2)
    assert found_words(change) == "put right on this visit: 2 readings suspect; N1 CM within at 4.0, now below at 1.5"
    assert found_mark(change) == "put right: 2 suspect, N1 CM now below"
    there = orchard()
    there.visit("A2", "05-15", None, lure_found="OFM")
    known = found(there, "A2", count=9, lure_found="OFM", lure="yes", body="yes")
    assert found_words(known) == "nothing changes: put right on this visit"


def test_its_own_lure_found_again_gives_readings_back() -> None:
    """A slip: OFM was said to be in A2, and the next visit finds that it was its own lure all along."""
    there = orchard()
    there.visit("A2", "05-15", None, lure_found="OFM")
    change = found(there, "A2", count=9, lure_found="CM")
    assert (change.suspect, change.trusted, change.after) == (0, 2, None)
    words = found_words(change)
    assert words.startswith("its own lure, not suspect: 2 readings count again; N1 CM below at 1.5, now within at 4.0")


def test_a_name_with_markup_and_of_any_length_stays_harmless() -> None:
    there = Orchard()
    there.hang("A1", on="05-01", block="[bold]a very long block name")
    there.visit("A1", "05-08", 9)
    words = found_words(found(there, "A1", "05-08", count=9, lure_found="OFM", replaces="v0000"))
    assert len(words) <= 100
