"""Traps assembled, hung, moved, taken down, reverted and read in any order: the judge sees every row.

No order of it lets a count from a contaminated body into a block's mean.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import Assembled, PartKind, PartNoted, PartState, Visit
from roundtui.domain.figures.figures import series
from roundtui.domain.figures.integrity import examine
from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.domain.programme.farm import Trap
from roundtui.domain.traps.assembly import hanging_row
from roundtui.errors import RoundtuiError
from roundtui.store.checks.trouble import SCENT, missed
from roundtui.store.figures.history import history
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.observations import present
from roundtui.store.record.read import programme, programme_for
from roundtui.store.record.rows import ASSEMBLIES, PARTS, VISITS, standing
from roundtui.store.set_up.register import (
    TRAPS,
    RegisterChange,
    added,
    carry_out,
    hung_again,
    moved,
    never_down,
    row_of,
    taken_down,
)
from roundtui.store.traps.parts import read_kit
from tests.conftest import write_folder
from tests.judge.naive_integrity import Diary, Found

ADA = Author("Ada", "truck")
OFFICE = Office(rules=SHIPPED_RULES)
FIRST = date(2025, 4, 1)
LABELS = ("K1", "K2")
TRAP_LABELS = ("A1", "F1")
SPECIES = {"A1": "CM", "F1": "OFM"}


@dataclass(frozen=True)
class Did:
    """One thing done, so many days after the one before."""

    what: str
    trap: str
    after: int
    values: dict[str, Any]


LURES = st.sampled_from((None, None, None, "yes", "OFM26", "CM26"))
BODIES = st.sampled_from((None, None, None, "yes", *LABELS))
VALUES = {
    "assemble": st.fixed_dictionaries(
        {"body_label": st.sampled_from(("", *LABELS)), "lot": st.sampled_from(("", "CM26", "OFM26"))}
    ),
    "hang": st.fixed_dictionaries({"block": st.sampled_from("NS"), "notified": st.booleans()}),
    "move": st.fixed_dictionaries({"block": st.sampled_from("NS")}),
    "down": st.just({}),
    "restore": st.just({}),
    "visit": st.fixed_dictionaries({"count": st.sampled_from((0, 3, 40)), "lure": LURES, "body": BODIES}),
    "note": st.fixed_dictionaries(
        {
            "label": st.sampled_from(LABELS),
            "state": st.sampled_from(PartState),
            "species": st.sampled_from(("CM", "OFM")),
        }
    ),
}
SEASON = ("assemble", "assemble", "hang", "visit", "visit", "down", "note")
"""The order in which things are done where nobody does them otherwise."""


@st.composite
def histories(draw: st.DrawFn) -> list[Did]:
    """Two seasons in which now and then a thing is left out, or another is done in its place."""
    done = []
    for kind in SEASON * 2:
        what = draw(st.sampled_from((kind, kind, kind, kind, "", *VALUES)))
        if what:
            trap = draw(st.sampled_from((*TRAP_LABELS[:1] * 3, *TRAP_LABELS)))
            done.append(Did(what, trap, draw(st.sampled_from((1, 1, 7, 30))), draw(VALUES[what])))
    return done[: draw(st.integers(4, len(SEASON) * 2))]


def do(conn: sqlite3.Connection, did: Did, on: date, now: datetime) -> None:
    """Do it, unless the register does not take it."""
    species = SPECIES[did.trap]
    if did.what == "assemble":
        one = Assembled(trap=did.trap, species=species, assembled_on=on, **did.values)
        record(conn, [one], ADA, now)
    elif did.what == "note":
        record(conn, [PartNoted(part=PartKind.BODY, noted_on=on, **did.values)], ADA, now)
    elif did.what == "visit":
        known = programme(conn).hanging(did.trap, on)
        if known is not None and known.hung_on != on:
            record(conn, [Visit(trap=did.trap, read_on=on, **did.values)], ADA, now)
    else:
        carry_out(conn, change(conn, did, on), ADA, now)


def change(conn: sqlite3.Connection, did: Did, on: date) -> RegisterChange:
    if did.what != "hang":
        here = row_of(conn, TRAPS, did.trap)
        if did.what == "move":
            return moved(here, {"block": did.values["block"], "row": str(on.toordinal())}, on)
        return taken_down(here, on) if did.what == "down" else never_down(here, on)
    waiting = read_kit(conn, on).known.waiting.get(did.trap)
    blank = Assembled(trap=did.trap, species=SPECIES[did.trap], assembled_on=on)
    row = hanging_row(waiting if waiting is not None and did.values["notified"] else blank, did.values["block"], on)
    try:
        here = row_of(conn, TRAPS, did.trap)
    except RoundtuiError:
        return added(TRAPS, row, on)
    return hung_again(here, dict.fromkeys(("body_label", "lot"), "") | row, on)


def as_written(conn: sqlite3.Connection) -> tuple[Trap, ...]:
    """Hangings as the register has them, with nothing filled in."""
    rows = conn.execute("SELECT trap, block, species, hung_on, down_on, coalesce(lot, ''), body_label FROM traps")
    return tuple(
        Trap(
            trap,
            block,
            species,
            hung_on=date.fromisoformat(hung_on),
            down_on=date.fromisoformat(down_on) if down_on else None,
            lot=lot,
            body_label=body,
        )
        for trap, block, species, hung_on, down_on, lot, body in rows
    )


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(histories())
def test_no_order_of_it_lets_a_count_from_a_contaminated_body_into_a_mean(done: list[Did]) -> None:
    now, on = datetime(2027, 1, 1, tzinfo=UTC), FIRST
    with TemporaryDirectory() as place:
        folder = write_folder(Path(place) / "farm", traps="trap,block,species\n", routes=None)
        with closing(open_folder(folder, now=now).conn) as conn:
            for at, did in enumerate(done):
                on += timedelta(days=did.after)
                with suppress(RoundtuiError):
                    do(conn, did, on, now + timedelta(minutes=at))
            hold_against_the_judge(conn, on)


def hold_against_the_judge(conn: sqlite3.Connection, on: date) -> None:
    visits = standing(conn, VISITS, SCENT)
    assembled = present(conn, ASSEMBLIES, date.min, on)
    raw = replace(programme(conn), traps=as_written(conn))
    judge = Diary(raw, visits, on, assembled, present(conn, PARTS, date.min, on))
    known = programme_for(conn, on, OFFICE)
    read = history(conn, known, on, OFFICE)
    said = examine(known, read.scent, on, read.assembled, read.bodies)
    assert {t.trap: Found(t.kind.value, t.found, t.since, t.partner) for t in said.troubles} == judge.troubles()
    assert missed(conn) == []
    clean = 0
    for trap, hangings in known.hangings.items():
        for one in series(hangings, read.visits.get(trap, ()), said):
            for reading in one.readings:
                if not reading.suspect and reading.start is not None:
                    assert not judge.suspect(trap, reading.start, reading.read_on)
                    clean += reading.read_on > on - timedelta(days=7)
    assert sum(row.counted for row in summary_of(conn, OFFICE, on).summary.blocks) <= clean
