"""Whatever is found, named, named anew, split, withdrawn and corrected, in whatever order: the count is right.

A second, naive reckoning is the judge. It knows jars on a shelf and nothing of entries, chains and corrections.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from copy import deepcopy
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import count as counter
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import Specimen, Visit
from roundtui.domain.figures.figures import readings
from roundtui.domain.programme.farm import Programme
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme, same_day
from roundtui.store.round.recounts import (
    find_specimen,
    identification,
    record_identification,
    refuse_where_it_bears,
    to_record,
)
from roundtui.store.set_up.load import load_folder
from tests.conftest import write_folder
from tests.judge.naive_vials import Jar, Shelf

FIRST = date(2026, 4, 21)
NAMES = ("CM", "lesser appleworm", "wasp", "unknown")
CHANGES = st.one_of(
    st.tuples(st.just("find"), st.integers(1, 6), st.booleans()),
    st.tuples(st.just("name"), st.integers(0, 9), st.sampled_from(NAMES)),
    st.tuples(st.just("split"), st.integers(0, 9), st.sampled_from(NAMES[:3])),
    st.tuples(st.just("type"), st.integers(0, 25), st.none()),
    st.tuples(st.just("withdraw"), st.integers(0, 9), st.none()),
    st.tuples(st.just("second count"), st.integers(0, 25), st.none()),
)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sqlite3.Connection]:
    """One folder for all stories; each has a day of its own."""
    folder = write_folder(tmp_path_factory.mktemp("vials") / "farm")
    at = datetime(2026, 4, 21, 8, tzinfo=UTC)
    with closing(open_folder(folder, now=at).conn) as conn:
        load_folder(conn, folder, now=at)
        yield conn


class Story:
    """One trap on one day, on record and on the shelf."""

    days = counter()

    def __init__(self, conn: sqlite3.Connection, typed: int) -> None:
        number = next(self.days)
        self.conn = conn
        self.known: Programme = programme(conn)
        self.on = FIRST + timedelta(days=number)
        self.trap = "A1"
        self.shelf = Shelf("CM", typed)
        self.ids: dict[int, str] = {}
        self.author = Author("Ida", "truck")
        self.clock = (datetime(2026, 4, 21, 9, tzinfo=UTC) + timedelta(days=number, seconds=tick) for tick in counter())
        record(conn, [Visit(trap=self.trap, read_on=self.on, count=typed)], self.author, next(self.clock))

    @property
    def standing(self) -> Visit:
        (visit,) = [one for one in same_day(self.conn, self.trap, self.on) if not one.recount]
        return visit

    def pick(self, at: int) -> int | None:
        keys = sorted(self.ids)
        return keys[at % len(keys)] if keys else None

    def do(self, change: tuple[str, int, Any]) -> None:
        kind, at, what = change
        after = deepcopy(self.shelf)
        if kind == "find":
            self.find(at, counted=what)
        elif kind == "type":
            self.type(at)
        elif kind == "second count":
            self.second(at)
        elif (key := self.pick(at)) is not None:
            jar = after.jars[key]
            if kind == "withdraw":
                self.withdraw(key, jar)
            elif kind == "split" and jar.number > 1:
                self.split(key, after, what)
            else:
                jar.name = "" if what == "unknown" else what
                self.name(key, after, what, None)

    def find(self, number: int, *, counted: bool) -> None:
        key = len(self.shelf.jars) + len(self.ids) + 1000 * len(self.ids)
        found = Specimen(
            trap=self.trap, read_on=self.on, what="unknown", number=number, vial=f"{self.on}/{key}", in_count=counted
        )
        inside = sum(jar.number for jar in self.shelf.jars.values() if jar.counted and not jar.name)
        try:
            ready = to_record(self.conn, self.known, found, counted=None)
        except RoundtuiError:
            assert counted
            assert inside + number > self.shelf.count
            return
        assert not counted or inside + number <= self.shelf.count
        self.ids[key] = record_identification(self.conn, ready, self.author, next(self.clock)).id
        self.shelf.jars[key] = Jar(number, counted)

    def name(self, key: int, after: Shelf, what: str, number: int | None) -> bool:
        try:
            specimen = find_specimen(self.conn, self.ids[key], self.on)
            ready = identification(self.conn, self.known, specimen, what=what, by="Wren", on=self.on, number=number)
        except RefusedError:
            same = number is None and self.shelf.jars[key].name == after.jars[key].name
            assert same or after.count < 0
            return False
        assert after.count >= 0
        recorded = record_identification(self.conn, ready, self.author, next(self.clock))
        self.ids[key] = recorded.id
        self.shelf = after
        return True

    def split(self, key: int, after: Shelf, what: str) -> None:
        jar = after.jars[key]
        other = max(after.jars) + 1
        after.jars[other] = Jar(jar.number - 1, jar.counted, jar.name)
        # What was settled when the count was typed last is settled for both parts alike.
        after.settled[other] = after.moved(after.jars[other]) if after.settled.get(key) else 0
        after.settled[key] = after.settled.get(key, 0) - after.settled[other]
        after.jars[key] = Jar(1, jar.counted, what)
        if self.name(key, after, what, 1):
            rows = self.conn.execute(
                "SELECT id FROM present_specimens WHERE trap = ? AND read_on = ? AND id > ? ORDER BY id",
                (self.trap, self.on.isoformat(), self.ids[key]),
            ).fetchall()
            self.ids[other] = rows[0][0]

    def type(self, number: int) -> None:
        fixed = replace(self.standing, count=number, replaces=self.standing.id, id="", reason="looked again")
        record(self.conn, [fixed], self.author, next(self.clock))
        self.shelf.type(number)

    def withdraw(self, key: int, jar: Jar) -> None:
        specimen = find_specimen(self.conn, self.ids[key], self.on)
        try:
            refuse_where_it_bears(self.known, specimen)
        except RefusedError:
            assert self.shelf.moved(jar) != 0
            return
        assert self.shelf.moved(jar) == 0
        withdraw(self.conn, specimen.id, "slip", self.author, next(self.clock))
        # What it had moved before the count was typed last stays moved.
        self.shelf.typed -= self.shelf.settled.pop(key, 0)
        del self.shelf.jars[key], self.ids[key]

    def second(self, number: int) -> None:
        visits = same_day(self.conn, self.trap, self.on)
        if not any(one.recount for one in visits):
            again = Visit(trap=self.trap, read_on=self.on, count=number, recount=True)
            record(self.conn, [again], Author("Ben", "truck"), next(self.clock))


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 25), st.lists(CHANGES, max_size=14))
def test_the_count_is_what_was_typed_less_the_strangers_named_in_it(
    store: sqlite3.Connection, typed: int, changes: list[tuple[str, int, Any]]
) -> None:
    story = Story(store, typed)
    for change in changes:
        story.do(change)
        assert story.standing.count == story.shelf.count
        assert story.shelf.count >= 0
    reading = readings(story.known.hangings["A1"][-1], same_day(store, "A1", story.on))
    assert [one.count for one in reading] == [story.shelf.count]
