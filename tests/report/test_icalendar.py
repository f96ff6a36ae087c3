"""The calendar: read by another program, moved by a second import, true to the record, harmless whatever is in it."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest
from hypothesis import given

from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.round.agenda import Item, Matter, agenda
from roundtui.report.open_files import calendar
from roundtui.store.connect import open_store
from roundtui.store.figures.history import history
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.season.season import SeasonRecord
from tests.conftest import NOW, ready_demo
from tests.hostile import WORST, texts

ADA = Author("Ada", "truck")
EVENING = datetime(2025, 7, 15, 18, 0, tzinfo=UTC)


def parsed(text: str) -> list[Any]:
    found = icalendar.Calendar.from_ical(text)
    assert found.errors == []
    return list(found.walk("VEVENT"))


def by_title(store: sqlite3.Connection, folder: Path, on: date, now: datetime = NOW) -> dict[str, Any]:
    known, office = programme(store), read_office(folder)
    items = agenda(known, history(store, known, on, office), on)
    return {str(event["SUMMARY"]).split(":")[0]: event for event in parsed(calendar(items, now))}


def test_a_round_is_due_a_week_after_the_last_and_moves_when_it_was_walked(
    store: sqlite3.Connection, folder: Path
) -> None:
    """Nothing read yet: today. Walked on Monday: next Monday, in the same entry of the calendar."""
    monday = date(2026, 5, 11)
    first = by_title(store, folder, monday)["Round home"]
    assert first["DTSTART"].dt == monday
    record(store, [Visit(trap=f"A{n}", read_on=monday, count=n) for n in (1, 2, 3, 4)], ADA, NOW)
    later = by_title(store, folder, monday, NOW + timedelta(hours=1))["Round home"]
    assert later["DTSTART"].dt == monday + timedelta(days=7)
    assert later["UID"] == first["UID"]
    assert later["SEQUENCE"] > first["SEQUENCE"]
    assert later["DTSTAMP"].dt > first["DTSTAMP"].dt
    overdue = by_title(store, folder, monday + timedelta(days=9))["Round home"]
    assert overdue["DTSTART"].dt == monday + timedelta(days=9)


def test_a_round_under_way_is_today(store: sqlite3.Connection, folder: Path) -> None:
    record(store, [Visit(trap="A1", read_on=date(2026, 5, 11), no_reading=NoReading.DOWN)], ADA, NOW)
    assert by_title(store, folder, date(2026, 5, 12))["Round home"]["DTSTART"].dt == date(2026, 5, 12)


def test_lures_and_liners_fall_due_by_their_life_and_move_when_replaced(
    store: sqlite3.Connection, folder: Path
) -> None:
    """Hung on 20 April: liners last 30 days, the usual CM lure as long as its species says."""
    liners = by_title(store, folder, date(2026, 5, 11))["Liners due"]
    assert liners["DTSTART"].dt == date(2026, 5, 20)
    record(store, [Visit(trap="A4", read_on=date(2026, 5, 18), count=0, liner=True)], ADA, NOW)
    moved = by_title(store, folder, date(2026, 5, 18))
    assert moved["Liners due"]["SUMMARY"] in ("Liners due: N CM, 3 of 3 traps", "Liners due: S OFM, 1 of 1 traps")
    days = {str(e["SUMMARY"]): e["DTSTART"].dt for e in events(store, folder, date(2026, 5, 18))}
    assert days["Liners due: S OFM, 1 of 1 traps"] == date(2026, 6, 17)
    assert days["Liners due: N CM, 3 of 3 traps"] == date(2026, 5, 20)


def events(store: sqlite3.Connection, folder: Path, on: date) -> list[Any]:
    known, office = programme(store), read_office(folder)
    return parsed(calendar(agenda(known, history(store, known, on, office), on), NOW))


def test_a_trap_taken_down_takes_its_dates_out_of_the_calendar(store: sqlite3.Connection, folder: Path) -> None:
    before = {str(e["UID"]): e for e in events(store, folder, date(2026, 5, 11)) if "S OFM" in e["SUMMARY"]}
    store.execute("UPDATE traps SET down_on = '2026-05-12' WHERE trap = 'A4'")
    after = {str(e["UID"]): e for e in events(store, folder, date(2026, 5, 14)) if "S OFM" in e["SUMMARY"]}
    assert before.keys() == after.keys()
    assert {str(e["STATUS"]) for e in before.values()} == {"CONFIRMED"}
    assert {str(e["STATUS"]) for e in after.values()} == {"CANCELLED"}


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[SeasonRecord, tuple[Item, ...]]:
    folder = ready_demo(tmp_path_factory.mktemp("calendar") / "farm").folder
    with closing(open_store(folder, now=EVENING)) as conn:
        season = SeasonRecord(conn, folder, date(2025, 7, 15), read_office(folder))
        rows = season.outlook_rows()
        return season, agenda(season.programme, season.history, season.on, rows, season=season.season)


def test_the_sample_has_its_rounds_its_upkeep_and_every_date_of_the_outlook(
    sample: tuple[SeasonRecord, tuple[Item, ...]],
) -> None:
    season, items = sample
    found = parsed(calendar(items, EVENING))
    assert len({str(event["UID"]) for event in found}) == len(found) == len(items)
    days = {str(e["SUMMARY"]): e["DTSTART"].dt for e in found}
    assert days["Round north: 18 traps"] == date(2025, 7, 15)
    assert days["Round south: 30 traps"] == date(2025, 7, 21)
    expected = sorted(row.event.reached_on or row.event.expected_on or EVENING.date() for row in season.outlook_rows())
    assert sorted(e["DTSTART"].dt for e in found if "EVENT" in e["CATEGORIES"].cats) == expected
    in_summary = {"K2"}  # ABOUT.txt: its lure of 27 May is good for 42 days.
    (lures,) = [e for e in found if str(e["SUMMARY"]).startswith("Lures due: KILN CM")]
    assert lures["DTSTART"].dt == date(2025, 7, 8)
    assert in_summary <= set(re.findall(r"\bK\d+\b", str(lures["DESCRIPTION"]).splitlines()[0]))


def test_lines_are_as_the_standard_wants_them(sample: tuple[SeasonRecord, tuple[Item, ...]]) -> None:
    content = calendar(sample[1], EVENING).encode()
    lines = content.split(b"\r\n")
    assert lines[-1] == b""
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert max(map(len, lines)) == 75
    assert lines[0] == b"BEGIN:VCALENDAR"
    for line in lines:
        line.decode()  # No character was cut.
    for needed in (b"VERSION:2.0", b"PRODID:", b"DTSTAMP:20250715T180000Z"):
        assert any(line.startswith(needed) for line in lines)
    assert not any(line.startswith(b"DTSTART") and b";VALUE=DATE:" not in line for line in lines)


def test_only_one_route_where_one_is_asked_for(sample: tuple[SeasonRecord, tuple[Item, ...]]) -> None:
    season, _ = sample
    rows = season.outlook_rows()
    items = agenda(season.programme, season.history, season.on, rows, season=2025, route="north")
    assert {item.key[0] for item in items if item.matter is Matter.ROUND} == {"north"}
    assert not any("GATE" in item.title or "WALL" in item.title for item in items)
    assert any("KILN" in item.title for item in items)


@given(texts)
def test_hostile_words_stay_inside_their_value(text: str) -> None:
    item = Item(Matter.EVENT, ("a", text), date(2026, 5, 18), text, (text, "second line"), text)
    content = calendar([item], NOW, text)
    (event,) = parsed(content)
    assert sorted(event) == sorted(
        ["UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION"]
        + ["CATEGORIES", "STATUS", "TRANSP"]
        + (["LOCATION"] if "LOCATION" in event else [])
    )
    assert "second line" in str(event["DESCRIPTION"]).splitlines()
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f\u202e\u2066]", content.replace("\r\n", ""))


@pytest.mark.parametrize("text", [text for text in WORST if len(text) < 100 and text.isprintable()])
def test_words_come_out_of_the_calendar_as_they_went_in(text: str) -> None:
    (event,) = parsed(calendar([Item(Matter.ROUND, ("a",), date(2026, 5, 18), text)], NOW))
    assert str(event["SUMMARY"]) == text


def test_a_key_gives_one_id_whatever_its_day_and_words_are() -> None:
    item = Item(Matter.ROUND, ("north", "MOSS"), date(2026, 5, 18), "Round north")
    ids = [str(e["UID"]) for e in parsed(calendar([item, replace(item, on=None, title="other")], NOW))]
    assert ids[0] == ids[1]
    (other,) = parsed(calendar([replace(item, key=("north", "LARK"))], NOW))
    assert str(other["UID"]) != ids[0]


def test_signs_that_mean_something_there_are_escaped() -> None:
    """Readers forgive much; the standard does not (RFC 5545, section 3.3.11)."""
    item = Item(Matter.ROUND, ("a",), date(2026, 5, 18), "a;b,c:d\\n", ("one; two", "three, four"), "x;y")
    lines = calendar([item], NOW).replace("\r\n ", "").split("\r\n")
    assert r"SUMMARY:a\;b\,c:d\\n" in lines
    assert r"DESCRIPTION:one\; two\nthree\, four" in lines
    assert r"LOCATION:x\;y" in lines
