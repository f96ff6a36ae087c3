"""What people do to a record, as random stories: entries, corrections, things withdrawn, on clocks that disagree."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from roundtui.domain.entries import (
    NONE,
    YES,
    Assembled,
    BiofixSettled,
    NoReading,
    Notified,
    PartKind,
    PartNoted,
    PartState,
    Sample,
    SampleKind,
    SetUpChanged,
    Specimen,
    StageSeen,
    Stocked,
    StockKind,
    TreatmentSaid,
    Visit,
)
from roundtui.domain.round.recounts import CheckResult, Question, QuestionWord, TrapChecked
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.rows import SET_UP_CHANGES, SHOWN
from tests.conftest import NOW

TRAPS = ("A1", "A2", "A3", "A4")
FIRST = date(2026, 4, 27)


@dataclass(frozen=True)
class RegisterChange:
    """One thing that somebody does on one laptop."""

    kind: str
    """visit, stage, told, biofix, question, correct, withdraw or one of ``OBSERVATIONS``."""
    scout: str
    laptop: int
    minutes: int
    """When, by the true clock."""
    pick: int
    """Which of the present entries is corrected or withdrawn."""
    values: dict[str, Any]


OBSERVATIONS = ("sample", "treatment", "specimen", "part", "assembly", "stock", "check", "set-up")
"""Kinds of entries made beside the weekly count."""


def observations(kind: str, day: date) -> st.SearchStrategy[Any]:
    """An entry made beside the weekly count."""
    number = st.integers(1, 9)
    trap = st.sampled_from(TRAPS)
    strategies: dict[str, st.SearchStrategy[Any]] = {
        "sample": number.map(
            lambda found: Sample(
                block="N", sampled_on=day, kind=SampleKind.LEAF, pest="OBLR", looked_at="shoot", looked=60, found=found
            )
        ),
        "treatment": st.sampled_from("NS").map(
            lambda block: TreatmentSaid(block=block, species="CM", treated_on=day, words="cover spray [/]")
        ),
        "specimen": trap.map(
            lambda one: Specimen(trap=one, read_on=day, what="unknown", number=2, vial="V-7", in_count=True)
        ),
        "part": st.sampled_from(PartState).map(
            lambda state: PartNoted(label="D1", part=PartKind.BODY, species="CM", state=state, noted_on=day)
        ),
        "assembly": trap.map(
            lambda one: Assembled(
                trap=one, species="CM", assembled_on=day, body_label="D1", lot="CM26", despite="none else"
            )
        ),
        "stock": number.map(lambda bought: Stocked(lot="CM26", stocked_on=day, kind=StockKind.BOUGHT, number=bought)),
        "check": st.sampled_from((CheckResult.PASSED, CheckResult.LABEL_GONE)).map(
            lambda result: TrapChecked(trap="A1", checked_on=day, result=result, note="label [/] gone")
        ),
        "set-up": number.map(
            lambda kept: SetUpChanged(
                file="lures.csv",
                change="edited",
                done_on=day,
                was="",
                becomes=f'{{"lot": "L{kept}", "species": "CM", "note": "box {kept}"}}',
                row=f'["L{kept}"]',
            )
        ),
    }
    return strategies[kind]


def entries() -> st.SearchStrategy[dict[str, Any]]:
    """What a visit says besides its trap and day."""
    counted = st.fixed_dictionaries({"count": st.integers(0, 40), "cleared": st.booleans()})
    unread = st.sampled_from([{"no_reading": reason} for reason in NoReading if reason is not NoReading.OTHER])
    work = st.fixed_dictionaries(
        {},
        optional={
            "liner": st.just(True),
            "lure": st.sampled_from([YES, NONE, "CM26", "OFM26"]),
            "body": st.sampled_from([YES, "D1", "D2"]),
            "lure_found": st.sampled_from([NONE, "OFM", "OFM26", "CM"]),
            "note": st.sampled_from(["", "half under leaves [/]"]),
        },
    )
    return st.tuples(st.one_of(counted, counted, unread), work).map(lambda both: both[0] | both[1])


@st.composite
def changes(draw: st.DrawFn, laptops: int = 1) -> RegisterChange:
    """One change."""
    kind = draw(
        st.sampled_from(
            [
                *(
                    "visit",
                    "visit",
                    "visit",
                    "correct",
                    "correct",
                    "withdraw",
                    "stage",
                    "notified",
                    "biofix",
                    "question",
                ),
                *OBSERVATIONS,
            ]
        )
    )
    day = FIRST + timedelta(days=draw(st.sampled_from([0, 7, 14, 15, 21, 23])))
    values: dict[str, Any] = {"read_on": day, "trap": draw(st.sampled_from(TRAPS))}
    if kind in ("visit", "correct"):
        values |= draw(entries())
    elif kind == "stage":
        values = {"seen_on": day, "block": draw(st.sampled_from("NS")), "code": draw(st.sampled_from(["57", "65"]))}
    elif kind == "notified":
        status = draw(st.sampled_from(["over", "below"]))
        values = {"block": "N", "species": "CM", "round_on": day, "status": status, "notified_on": day}
    elif kind == "biofix":
        reason = draw(st.sampled_from(["early spring", "first flight"]))
        values = {"block": "N", "species": "CM", "season": 2026, "generation": 1, "day": day, "reason": reason}
    elif kind == "question":
        says = draw(st.sampled_from(QuestionWord))
        values = {"trap": values["trap"], "about_on": day, "says": says, "words": "40 or 4?"}
    elif kind in OBSERVATIONS:
        values = {"entry": draw(observations(kind, day))}
    return RegisterChange(
        kind,
        draw(st.sampled_from(["Ada", "Bo"])),
        draw(st.integers(0, laptops - 1)),
        draw(st.integers(0, 30 * 24 * 60)),
        draw(st.integers(0, 1000)),
        values,
    )


def do(conn: sqlite3.Connection, change: RegisterChange, skew: timedelta = timedelta()) -> None:
    """Do it to a store, as the laptop's clock has it; a correction without anything to correct is a plain entry."""
    author = Author(change.scout, f"laptop {change.laptop}")
    now = NOW + timedelta(minutes=change.minutes) + skew
    if change.kind == "stage":
        record(conn, [StageSeen(**change.values)], author, now)
    elif change.kind == "notified":
        record(conn, [Notified(**change.values, by=change.scout, how="phone")], author, now)
    elif change.kind == "biofix":
        record(conn, [BiofixSettled(**change.values)], author, now)
    elif change.kind == "question":
        known = [row[0] for row in conn.execute("SELECT id FROM visits ORDER BY id")]
        if known:
            record(conn, [Question(entry=known[change.pick % len(known)], **change.values)], author, now)
    elif change.kind in OBSERVATIONS:
        record(conn, [change.values["entry"]], author, now)
    elif change.kind == "withdraw":
        present = [
            row[0]
            for table in SHOWN
            if table is not SET_UP_CHANGES  # Put back by a further change, never withdrawn.
            for row in conn.execute(f"SELECT id FROM present_{table.name} ORDER BY id")
        ]
        if present:
            withdraw(conn, present[change.pick % len(present)], "wrong sheet", author, now)
    else:
        visit = Visit(**change.values)
        present = [row[0] for row in conn.execute("SELECT id FROM present_visits ORDER BY id")]
        if change.kind == "correct" and present:
            visit = Visit(**change.values, replaces=present[change.pick % len(present)], reason="misread")
        record(conn, [visit], author, now)
