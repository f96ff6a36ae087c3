"""A block's season from the record: biofix confirmed or set, what that changes, and the sums and events drawn of it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path

import pytest

from roundtui.domain.entries import BiofixSettled, Notified, StageSeen, TempsRead, Visit
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.verdicts import BlockRow, Status
from roundtui.domain.programme.stages import find
from roundtui.domain.round.recounts import Share, shares, visits_asked
from roundtui.domain.season.season import coming
from roundtui.domain.units import TempUnit
from roundtui.errors import RefusedError
from roundtui.report.season.season import stage_lines
from roundtui.store.checks.verify import verify
from roundtui.store.exchange.bundle import pack
from roundtui.store.exchange.merge import merge
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.inventory import PlanRecord, VisitDays, read_plan_office, visits_due
from roundtui.store.office import read_office, read_stage_reference
from roundtui.store.record.chains import Mark, as_recorded
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import journal_rows, programme
from roundtui.store.round.conflicts import ConflictKind, open_conflicts, settle
from roundtui.store.season.biofix import biofix_changes, settle_biofix, settlement
from roundtui.store.season.season import SeasonRecord, confirmed_biofixes, seasons_on_record
from roundtui.store.season.weather import station_days
from tests.conftest import MakeFolder

ADA, BO = Author("Ada", "truck"), Author("Bo", "office")
START = date(2026, 4, 20)
"""Day the traps were hung."""
READ = [START + timedelta(days=7 * week) for week in range(1, 6)]
"""27 April, 4, 11, 18 and 25 May."""
ON = READ[-1]
NOW = datetime(2026, 5, 25, 18, tzinfo=UTC)
COUNTS = {"A1": (0, 1, 2, 3, 4), "A2": (0, 0, 1, 2, 2), "A3": (0, 0, 1, 1, 0), "A4": (3, 5, 9, 4, 2)}
THRESHOLDS = """\
[[rule]]
id = "since-biofix"
species = "CM"
kind = "cumulative"
since = "biofix"
low = 3
high = 5
source = "made up"
date = 2026-01-01
"""
BLOCKS = "block,farm,name,crop,station\nN,HF,North,apple,V\nS,HF,South,apple,\n"


RHYTHM = """\
[[visits]]
every = "FREQ=WEEKLY;BYDAY=MO,TH"
biofix = "before"
source = "University of California IPM"

[[visits]]
every = "FREQ=WEEKLY"
biofix = "after"
source = "University of California IPM"

[[visits]]
every = "FREQ=DAILY;INTERVAL=3"
species = "CM"
degree_days = [300, 2000]
source = "the test"

[[visits]]
every = "FREQ=DAILY;INTERVAL=14"
source = "the test"
"""


def steady_weather(degrees: int = 20) -> str:
    """Five years in which every day from 1 April on gathers so many degree-days over 50 °F, and no other any."""
    rows = []
    day = date(2022, 1, 1)
    while day <= ON:
        temp = 50 + degrees * (day.month >= 4)
        rows.append(f"V,{day},{temp},{temp},F\n")
        day += timedelta(days=1)
    return "station,date,tmin,tmax,unit\n" + "".join(rows)


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    return make_folder(
        stations="station,name\nV,Vale\n", blocks=BLOCKS, weather=steady_weather(), thresholds=THRESHOLDS
    )


@pytest.fixture
def conn(farm: Path) -> Iterator[sqlite3.Connection]:
    with closing(open_folder(farm, now=NOW).conn) as conn:
        for trap, counts in COUNTS.items():
            record(
                conn, [Visit(trap=trap, read_on=day, count=n) for day, n in zip(READ, counts, strict=True)], ADA, NOW
            )
        yield conn


@pytest.fixture
def office(farm: Path) -> Office:
    return read_office(farm)


def season_of(conn: sqlite3.Connection, farm: Path, on: date = ON) -> SeasonRecord:
    return SeasonRecord(conn, farm, on, read_office(farm))


def confirm(
    conn: sqlite3.Connection, farm: Path, day: date | None = None, reason: str = "", author: Author = ADA
) -> BiofixSettled:
    season = season_of(conn, farm)
    entry = settlement(season, "N", "CM", 1, day=day, reason=reason)
    return settle_biofix(conn, season, entry, author, NOW)


def row(conn: sqlite3.Connection, office: Office) -> BlockRow:
    (found,) = [row for row in summary_of(conn, office, ON).summary.blocks if row.block == "N"]
    return found


def test_the_rule_proposes_and_a_person_confirms(conn: sqlite3.Connection, farm: Path) -> None:
    # The block's counts are 0, 1, 4, 6, 6: the first of two readings running with a moth is that of 4 May.
    (before,) = season_of(conn, farm).biofixes("N", "CM")
    assert (before.biofix.confirmed, before.biofix.on, before.doubts) == (None, READ[1], ())
    entry = confirm(conn, farm)
    assert (entry.day, entry.proposed, entry.rule, entry.season) == (READ[1], READ[1], "shipped-cm-sustained", 2026)
    (after,) = season_of(conn, farm).biofixes("N", "CM")
    assert (after.biofix.confirmed, after.settled, after.doubts) == (READ[1], (entry,), ())
    (shown,) = [row for row in journal_rows(conn, READ[1], READ[1]) if row.kind == "biofix"]
    assert (shown.id, shown.block, shown.present) == (entry.id, "N", True)


def test_visits_are_due_by_the_offices_own_rhythm(conn: sqlite3.Connection, farm: Path) -> None:
    """Twice a week until the biofix, then weekly: University of California IPM, Pear: Pheromone Traps. From 300
    degree-days on every three days: made for the test, after OFM from 800 (University of California IPM, sf99-f42).
    """
    (farm / "plan.toml").write_text(RHYTHM, encoding="utf-8")

    def due(on: date) -> date | None:
        return visits_due(conn, farm, on, read_office(farm)).get("A1")

    monday = READ[0]
    assert due(monday) == monday + timedelta(days=3), "no biofix is confirmed, so Thursday"
    confirm(conn, farm)
    assert due(READ[0]) == monday + timedelta(days=3), "read before the biofix of 4 May"
    assert due(READ[1]) == READ[2], "20 degree-days since"
    assert due(READ[3]) == READ[3] + timedelta(days=3), "15 days of 20 are 300"
    assert "A4" in visits_due(conn, farm, ON, read_office(farm)), "the rule for any species"
    (farm / "plan.toml").unlink()
    assert due(READ[1]) is None, "a week as all others"


def test_a_rule_that_does_not_say_how_to_count_goes_by_the_model_of_its_species(
    conn: sqlite3.Connection, farm: Path
) -> None:
    """50 degree-days at 70 °F from 1 April: over 50 °F, as the codling moth model has it, on the third day."""
    rule = '[[hang]]\nid = "own"\nspecies = "CM"\ndegree_days = 50\nsource = "ours"\ndate = 2026-01-01\n'
    (farm / "plan.toml").write_text(rule, encoding="utf-8")
    plan = PlanRecord(conn, farm, ON, Office(), 2026).plan
    said = {row.block: reason for row in plan.rows for reason in row.reasons if reason.rule == "own"}
    assert (said["N"].on, "reached" in said["N"].words) == (date(2026, 4, 3), True)


def test_visits_on_time_by_person(conn: sqlite3.Connection, farm: Path) -> None:
    """Each of five visits came after seven days where three or four were asked, or seven: by hand."""
    (farm / "plan.toml").write_text(RHYTHM, encoding="utf-8")
    confirm(conn, farm)
    season = season_of(conn, farm)
    days = VisitDays(season, read_plan_office(farm))
    (hanging,) = season.programme.hangings["A1"]
    asked = list(visits_asked(hanging, season.history.visits["A1"], days.after, season.first, season.on))
    # Hung Monday 20 April: Thursday is due, came Monday. From 27 April the same. Then weekly to 18 May, then 3 days.
    assert [(one.due.day, one.on_time) for one in asked] == [
        *((23, False), (30, False), (11, True), (18, True), (21, False)),
    ]
    assert shares(("Ada", int(one.on_time), 1) for one in asked) == {"Ada": Share(2, 5)}
    later = list(visits_asked(hanging, season.history.visits["A1"], days.after, season.first, ON + timedelta(days=9)))
    assert (later[-1].due, later[-1].came_on, later[-1].on_time) == (ON + timedelta(days=3), None, False)


def test_frost_at_the_stage_and_sums_of_the_next_stand_for_reference(conn: sqlite3.Connection, farm: Path) -> None:
    """Half-inch green: 10 % at 23 °F, 90 % at 15 °F (Penn State after Washington State University 1989); tight cluster
    206-257 over 43 °F from 1 March, 204-256 from 1 January (University of Massachusetts 2019, 2020)."""
    on = READ[0]
    record(conn, [StageSeen(block="N", seen_on=on, code="54")], ADA, NOW)
    lines = stage_lines(season_of(conn, farm, on), "N")
    # 50 °F on every day up to 31 March, 70 °F since: 31 days of 7 and 27 of 27 from 1 March, 59 of 7 more from January.
    assert lines[:3] == (
        "30 min at 23 °F (-5.0 °C) kill 10 % of buds, 15 °F (-9.4 °C) 90 %: half-inch green",
        "Tight cluster: 206-257 °F over 43 from 1 Mar, 946 now (Massachusetts 2019)",
        "Tight cluster: 204-256 °F over 43 from 1 Jan, 1359 now (Massachusetts 2020)",
    )
    record(conn, [StageSeen(block="N", seen_on=on, code="75")], ADA, NOW + timedelta(minutes=1))
    assert stage_lines(season_of(conn, farm, on), "N") == (), "fruit of half its size"


def test_the_published_stages_are_known_and_kill_more_when_colder() -> None:
    said = read_stage_reference()
    for crop, rows in said["frost"].items():
        if crop != "source":
            codes = [own or find(crop, name).code for name, own, _, _ in rows]  # type: ignore[union-attr]
            assert codes == sorted(codes), crop
            assert all(ninety < ten <= 28 for *_, ten, ninety in rows)
    assert said["frost"]["peach"][3] == ["first pink", "57", 25, 15]
    assert said["frost"]["sweet cherry"][2] == ["green tip", "", 25, 14]
    assert said["frost"]["plum"][-1] == ["post bloom", "69", 28, 23]
    assert all(find("apple", name) and low <= high for name, low, high, _, _ in said["sums"]["rows"])


def test_another_day_needs_a_reason_and_the_first_stays_on_record(conn: sqlite3.Connection, farm: Path) -> None:
    first = confirm(conn, farm)
    with pytest.raises(RefusedError, match="the rule proposes 2026-05-04 for N CM generation 1, not 2026-05-11"):
        confirm(conn, farm, READ[2])
    second = confirm(conn, farm, READ[2], "one moth was a stray")
    assert (second.replaces, second.reason, second.overridden) == (first.id, "one moth was a stray", True)
    assert conn.execute("SELECT count(*) FROM biofixes").fetchone() == (2,)
    assert confirmed_biofixes(conn, ON, read_office(farm)) == {("N", "CM"): READ[2]}
    with pytest.raises(sqlite3.IntegrityError, match="never changed or erased"):
        conn.execute("UPDATE biofixes SET day = proposed")


def test_what_cannot_be_confirmed_is_refused(conn: sqlite3.Connection, farm: Path) -> None:
    season = season_of(conn, farm)
    for about, fault in (
        (("N", "OFM", 1), "no trap for N OFM generation 1 hung this season"),
        (("N", "CM", 3), "cannot be settled before generation 2"),
    ):
        with pytest.raises(RefusedError, match=fault):
            settlement(season, *about)
    with pytest.raises(RefusedError, match="is no biofix for"):
        settlement(season, "N", "CM", 1, day=ON + timedelta(days=1), reason="tomorrow")
    with pytest.raises(RefusedError, match="nothing is proposed for N CM generation 2"):
        settlement(season, "N", "CM", 2)
    confirm(conn, farm)
    with pytest.raises(RefusedError, match="is settled on 2026-05-04 already"):
        confirm(conn, farm)


def test_a_rule_since_biofix_cannot_tell_until_there_is_one(
    conn: sqlite3.Connection, farm: Path, office: Office
) -> None:
    assert (row(conn, office).status, row(conn, office).why) == (Status.CANNOT_TELL, "no biofix is confirmed")
    # From 11 May on, that day included: A1 2/7 of the 11th, then 3 and 4; A2 1/7, 2, 2; A3 1/7, 1, 0:
    # 4/21 + 2 + 2 = 88/21 a trap, within 3 to 5. The biofix day counts.
    confirm(conn, farm, READ[2], "one moth was a stray")
    found = row(conn, office)
    assert found.rule is not None
    assert (found.rule.value, found.status) == (Fraction(88, 21), Status.WITHIN)


def test_a_summary_of_a_day_before_the_biofix_knows_none(conn: sqlite3.Connection, farm: Path, office: Office) -> None:
    confirm(conn, farm, READ[2], "one moth was a stray")
    (found,) = [row for row in summary_of(conn, office, READ[1]).summary.blocks if row.block == "N"]
    assert found.status is Status.CANNOT_TELL


def test_the_record_of_an_earlier_instant_has_no_biofix_yet(
    conn: sqlite3.Connection, farm: Path, office: Office
) -> None:
    confirm(conn, farm)
    assert row(conn, office).status is not Status.CANNOT_TELL
    with as_recorded(conn, Mark(NOW - timedelta(seconds=1))):
        assert confirmed_biofixes(conn, ON, office) == {}


def test_a_biofix_revised_after_growers_were_told_says_what_it_changes(
    conn: sqlite3.Connection, farm: Path, office: Office
) -> None:
    # From 4 May on: A1 1/7 + 2 + 3 + 4, A2 1 + 2 + 2, A3 1 + 1 + 0: 1/21 + 16/3 = 113/21 = 5.4 a trap, over.
    confirm(conn, farm)
    assert row(conn, office).status is Status.OVER
    notified = Notified(block="N", species="CM", round_on=ON, status="over", notified_on=ON, by="Bo", how="phone")
    record(conn, [notified], BO, NOW)
    season = season_of(conn, farm)
    entry = settlement(season, "N", "CM", 1, day=READ[2], reason="one moth was a stray")
    changes = biofix_changes(conn, farm, season, entry, lambda: settle_biofix(conn, season, entry, BO, NOW))
    assert changes[:3] == (
        "N CM, 2026-05-25: status over becomes within",
        "N CM generation 1, 2026-05-25: biofix 2026-05-04 becomes 2026-05-11",
        "N CM 2026-05-25: the grower was called on an older figure; told over, shows within",
    )
    # 20 a day: 220 are there on the 11th day, 14 May from the 4th, 21 May from the 11th.
    assert "egg hatch begins, generation 1: reached 2026-05-14 becomes reached 2026-05-21" in changes[3:]
    assert row(conn, office).status is Status.OVER  # Nothing was recorded by looking.
    settle_biofix(conn, season, entry, BO, NOW)
    (otherwise,) = summary_of(conn, office, ON).summary.older_figure_calls
    assert (otherwise.notified, otherwise.now) == ("over", Status.WITHIN)


def test_two_laptops_that_settle_two_days_leave_a_question(conn: sqlite3.Connection, farm: Path) -> None:
    first = settlement(season_of(conn, farm), "N", "CM", 1)
    other = settlement(season_of(conn, farm), "N", "CM", 1, day=READ[2], reason="one moth was a stray")
    record(conn, [first], ADA, NOW)
    record(conn, [other], BO, NOW + timedelta(minutes=1))
    (shown,) = season_of(conn, farm).biofixes("N", "CM")
    assert shown.biofix.confirmed == READ[2]
    assert shown.doubts == ("settled twice: 2026-05-04 and 2026-05-11",)
    (conflict,) = open_conflicts(conn, programme(conn))
    assert conflict.kinds == (ConflictKind.TWO_BIOFIXES,)
    keep = next(number for number, row in enumerate(conflict.entries, 1) if row.read_on == READ[1])
    settle(conn, conflict, keep, ADA, NOW + timedelta(minutes=2))
    (shown,) = season_of(conn, farm).biofixes("N", "CM")
    assert (shown.biofix.confirmed, shown.doubts) == (READ[1], ())


def test_confirming_settles_such_a_question_as_well(conn: sqlite3.Connection, farm: Path) -> None:
    first = settlement(season_of(conn, farm), "N", "CM", 1)
    other = settlement(season_of(conn, farm), "N", "CM", 1, day=READ[2], reason="one moth was a stray")
    record(conn, [first, other], ADA, NOW)
    season = season_of(conn, farm)
    settle_biofix(conn, season, settlement(season, "N", "CM", 1), BO, NOW + timedelta(minutes=1))
    assert open_conflicts(conn, programme(conn)) == ()
    (shown,) = season_of(conn, farm).biofixes("N", "CM")
    assert (shown.biofix.confirmed, len(shown.settled)) == (READ[1], 1)


def test_a_suspect_reading_never_sets_a_biofix(conn: sqlite3.Connection, farm: Path) -> None:
    # A1 held a lure for another species from 4 May on, found on the 11th: its moths are no codling moths.
    record(conn, [Visit(trap="A1", read_on=START, lure="OFM26")], ADA, NOW)
    (found,) = season_of(conn, farm).biofixes("N", "CM")
    # Without A1 the counts are 0, 0, 2, 3, 2.
    assert found.biofix.on == READ[2]


def test_the_season_of_a_block_holds_all_that_is_drawn(conn: sqlite3.Connection, farm: Path) -> None:
    confirm(conn, farm)
    found = season_of(conn, farm).block("N", "CM")
    assert found.newest == (READ[4], 2)
    assert (found.rule, found.band, found.status) == ("since-biofix", (3, 5), Status.OVER)
    # 20 a day from 1 April to 25 May, 55 days; from 4 May on, 22 days.
    assert found.from_start is not None
    assert (found.from_start.total, found.from_start.rows[0].on) == (1100, date(2026, 1, 1))
    ((generation, total),) = found.from_biofix
    assert (generation, total.total, total.rows[0].on) == (1, 440, READ[1])
    reached = {event.event.name: event.reached_on for event in found.events if event.reached_on}
    assert reached["egg hatch begins"] == READ[1] + timedelta(days=10)
    assert (found.station, found.unit, found.remarks) == ("V", "F", ())


def test_what_is_still_to_come_is_looked_up_in_the_years_before(conn: sqlite3.Connection, farm: Path) -> None:
    confirm(conn, farm)
    season = season_of(conn, farm)
    # 480 more of 920 at 20 a day are 24 days: 18 June, in every year. 581 - 440 = 141 are 8 days: 2 June.
    hatched = next(row for row in season.outlook_rows() if row.event.event.name == "egg hatch ends")
    assert hatched.confirmed
    assert (hatched.event.accumulated, hatched.event.expected_on, hatched.event.years) == (440, date(2026, 6, 18), 4)
    found = coming(season.outlook_rows(), season.on)
    near = [(i.row.event.event.name, i.row.event.expected_on, i.blocks) for i in found if i.row.species == "CM"]
    # 640 - 440 = 200 are ten days: 4 June, the last of the ten.
    assert near == [
        ("flight peaks (latest published)", date(2026, 6, 2), ("N",)),
        ("most eggs hatch (latest published)", date(2026, 6, 4), ("N",)),
    ]


def test_a_block_without_a_station_has_events_without_dates(conn: sqlite3.Connection, farm: Path) -> None:
    rows = [row for row in season_of(conn, farm).outlook_rows() if row.block == "S"]
    assert rows
    assert {(row.event.accumulated, row.event.reached_on, row.event.expected_on) for row in rows} == {(None,) * 3}
    assert season_of(conn, farm).block("S", "OFM").from_start is not None


def test_looking_back_uses_nothing_that_came_later(conn: sqlite3.Connection, farm: Path) -> None:
    confirm(conn, farm)
    early = season_of(conn, farm, READ[0])
    (found,) = early.biofixes("N", "CM")
    assert (found.biofix.confirmed, found.biofix.on) == (None, None)
    drawn = early.block("N", "CM")
    assert (drawn.newest, drawn.from_biofix) == ((READ[0], 0), ())
    assert drawn.from_start is not None
    assert drawn.from_start.rows[-1].on == READ[0]


def test_degree_days_accumulated_after_a_treatment(conn: sqlite3.Connection, farm: Path) -> None:
    season = season_of(conn, farm)
    # 20 a day from the day after on: 100 are there on the fifth.
    assert season.days_to_gather("N", "CM", date(2026, 5, 4), Fraction(100)) == date(2026, 5, 9)
    assert season.days_to_gather("N", "CM", date(2026, 5, 22), Fraction(100)) is None
    assert season.days_to_gather("S", "CM", date(2026, 5, 4), Fraction(100)) is None


def test_the_years_that_hold_readings(conn: sqlite3.Connection, office: Office) -> None:
    record(conn, [Visit(trap="A1", read_on=date(2023, 6, 1), count=1)], ADA, NOW)
    assert seasons_on_record(conn, office) == (2023, 2026)


def test_what_growers_were_told_before_the_biofix_is_not_held_against_one_still_to_come(
    conn: sqlite3.Connection, farm: Path, office: Office
) -> None:
    """On 4 May nobody could tell, and so it was said; a biofix of 11 May does not make that wrong."""
    notified = Notified(
        block="N", species="CM", round_on=READ[1], status="cannot-tell", notified_on=READ[1], by="Bo", how="phone"
    )
    record(conn, [notified], BO, NOW)
    confirm(conn, farm, READ[2], "one moth was a stray")
    assert summary_of(conn, office, ON).summary.older_figure_calls == ()


def test_moths_of_last_season_set_no_biofix_of_this_one(make_folder: MakeFolder) -> None:
    """A trap that hung through the winter: the moths of December belong to the season before."""
    farm = make_folder("winter", traps="trap,block,species,hung_on\nA1,N,CM,2025-10-01\n", routes=None)
    with closing(open_folder(farm, now=NOW).conn) as conn:
        days = (date(2025, 12, 20), date(2025, 12, 27), date(2026, 1, 10))
        record(conn, [Visit(trap="A1", read_on=day, count=n) for day, n in zip(days, (5, 4, 0), strict=True)], ADA, NOW)
        (found,) = season_of(conn, farm, date(2026, 1, 12)).biofixes("N", "CM")
        assert (found.biofix.on, found.doubts) == (None, ())
        (before,) = season_of(conn, farm, date(2025, 12, 31)).biofixes("N", "CM")
        assert (before.season, before.biofix.on) == (2025, days[0])


def test_edge_traps_alone_set_the_biofix_of_a_block_that_has_no_others(make_folder: MakeFolder) -> None:
    farm = make_folder("edge", traps=f"trap,block,species,hung_on,edge\nA1,N,CM,{START},yes\n", routes=None)
    with closing(open_folder(farm, now=NOW).conn) as conn:
        record(
            conn,
            [Visit(trap="A1", read_on=day, count=n) for day, n in zip(READ, (0, 1, 2, 3, 4), strict=True)],
            ADA,
            NOW,
        )
        (found,) = season_of(conn, farm).biofixes("N", "CM")
        assert found.biofix.on == READ[1]


def test_biofixes_and_thermometers_travel_between_laptops(
    conn: sqlite3.Connection, farm: Path, make_folder: MakeFolder, tmp_path: Path
) -> None:
    other = make_folder("other", stations="station,name\nV,Vale\n", blocks=BLOCKS, weather=steady_weather())
    confirm(conn, farm)
    record(conn, [TempsRead(station="V", day=ON, tmin="55", tmax="91.5", unit=TempUnit.F)], ADA, NOW)
    pack(conn, tmp_path / "all.bundle", "truck", NOW)
    with closing(open_folder(other, now=NOW).conn) as there:
        assert station_days(there, "V", ON, ON)[0].tmax == 70
        for _ in range(2):
            merge(there, [tmp_path / "all.bundle"])
        assert confirmed_biofixes(there, ON, Office(rules=())) == {("N", "CM"): READ[1]}
        assert station_days(there, "V", ON, ON)[0].tmax == 91.5
        assert [check.faults for check in verify(there, "office") if check.faults] == []


def test_a_bundle_about_a_station_brings_the_station_along(
    conn: sqlite3.Connection, make_folder: MakeFolder, tmp_path: Path
) -> None:
    record(conn, [TempsRead(station="V", day=ON, tmin="55", tmax="91.5", unit=TempUnit.F)], ADA, NOW)
    pack(conn, tmp_path / "all.bundle", "truck", NOW)
    with closing(open_folder(make_folder("other"), now=NOW).conn) as there:
        assert "V" not in programme(there).stations
        merge(there, [tmp_path / "all.bundle"])
        assert "V" in programme(there).stations
        assert station_days(there, "V", ON, ON)[0].tmax == 91.5
