from __future__ import annotations

import io
import json
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta

from rich.cells import cell_len
from rich.console import Console

from roundtui.domain.entries import NoReading, Notified, Recorded, StageSeen, Visit, Withdrawal
from roundtui.report.round.replay import replay_json, replay_table, steps
from roundtui.store.record.read import JournalRow

ON = date(2026, 6, 9)
NINE = datetime(2026, 6, 9, 9, 0, 0, 5, tzinfo=UTC)
WHO = {"scout": "Ana", "device": "truck"}


def visit(id_: str, minutes: int, **more: object) -> JournalRow:
    at = NINE + timedelta(minutes=minutes)
    entry = Visit(**({"trap": "N1", "read_on": ON, "recorded_at": at, "id": id_} | WHO | more))  # type: ignore[arg-type]
    return JournalRow("visit", entry, True, entry.trap, None, entry.read_on)


FIRST = replace(visit("v1", 0, count=40), present=False)
MENDED = visit("v2", 3, count=4, liner=True, replaces="v1", reason="one nought too many")
MISSING = visit("v3", 4, trap="N2", no_reading=NoReading.MISSING, note="post gone")
STAGE = JournalRow(
    "stage",
    StageSeen(block="N", seen_on=ON, code="71", recorded_at=NINE + timedelta(minutes=5), id="s1", **WHO),
    True,
    None,
    "N",
    ON,
)
NOTIFIED = JournalRow(
    "notified",
    Notified(
        block="N",
        species="CM",
        round_on=ON,
        status="over",
        notified_on=ON,
        by="Cleo",
        how="phone",
        recorded_at=NINE + timedelta(minutes=6),
        id="t1",
        **WHO,
    ),
    False,
    None,
    "N",
    ON,
)
WITHDRAWN = JournalRow(
    "withdrawal",
    Withdrawal(
        entry="t1", kind="notified", reason="nobody answered", recorded_at=NINE + timedelta(minutes=7), id="w1", **WHO
    ),
    True,
    None,
    "N",
    ON,
)
ROWS = (FIRST, MENDED, MISSING, STAGE, NOTIFIED, WITHDRAWN)
CONTRACT = ["id", "kind", "trap", "read_on", "recorded_at", "scout", "device", "replaces", "reason"]


def printed(rows: tuple[JournalRow, ...]) -> str:
    console = Console(width=80, file=io.StringIO())
    console.print(*replay_table(rows))
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_every_entry_bears_the_keys_of_the_contract_first() -> None:
    said = json.loads(json.dumps(replay_json(ROWS)))

    assert [list(entry)[: len(CONTRACT)] for entry in said] == [CONTRACT] * len(ROWS)
    assert [entry["kind"] for entry in said] == ["visit", "visit", "visit", "stage", "notified", "withdrawal"]
    assert [entry["present"] for entry in said] == [False, True, True, True, False, True]


def test_a_correction_and_what_it_corrects_both_stay_with_reason_and_instant() -> None:
    first, mended, missing, *_ = replay_json(ROWS)

    assert (first["count"], first["replaces"], first["recorded_at"]) == (40, None, "2026-06-09T09:00:00.000005Z")
    assert (mended["count"], mended["replaces"], mended["reason"]) == (4, "v1", "one nought too many")
    assert (mended["liner"], mended["cleared"]) == (True, True)
    assert (missing["count"], missing["no_reading"], missing["note"]) == (None, "missing", "post gone")


def test_a_visit_says_all_that_is_declared_of_it() -> None:
    (sexed,) = replay_json((visit("v1", 0, count=12, females=4, read_at="09:15"),))
    assert (sexed["females"], sexed["read_at"]) == (4, "09:15")
    assert {field.name for field in fields(Visit)} - {field.name for field in fields(Recorded)} <= set(sexed)


def test_entries_about_a_block_have_no_trap_and_say_what_they_are_about() -> None:
    *_, stage, notified, withdrawn = replay_json(ROWS)

    assert (stage["trap"], stage["block"], stage["stage"], stage["read_on"]) == (None, "N", "71", "2026-06-09")
    assert (notified["status"], notified["by"], notified["how"], notified["notified_on"]) == (
        "over",
        "Cleo",
        "phone",
        "2026-06-09",
    )
    assert (withdrawn["takes_back"], withdrawn["reason"]) == ("t1", "nobody answered")


def test_the_table_numbers_entries_and_says_what_corrected_what_and_why() -> None:
    page = " ".join(printed(ROWS).split())

    assert "1 06-09 09:00:00 Ana, truck N1 2026-06-09 40; (corrected by 2)" in page
    assert "corrects 1: 4 l; because: one nought" in page
    assert "xm n:post gone" in page
    assert "stage 71" in page
    assert "(withdrawn by 6)" in page
    assert "withdraws 5; because: nobody" in page


def test_a_recount_says_so() -> None:
    assert "4 recount" in printed((visit("v1", 0, count=4, recount=True),))


def test_an_entry_that_says_what_only_a_newer_program_knows_is_not_blank() -> None:
    """A count of such an entry, or a note, is said as ever."""
    unknown = visit("v1", 0)
    assert printed((unknown,)).rstrip().endswith("something newer")
    assert [step.said for step in steps((unknown, MISSING), ["N1"], lambda at: at)] == [
        "something newer",
        "xm n:post gone",
    ]


def test_a_correction_of_an_entry_outside_the_window_is_still_told() -> None:
    assert "corrects an entry: 4" in " ".join(printed((visit("v2", 0, count=4, replaces="v0"),)).split())


def test_hostile_text_stays_inside_the_table() -> None:
    hostile = "[red]\x1b[2J\u202e" + "x" * 10_000
    page = printed(
        (visit("v1", 0, count=4, note=hostile, scout=hostile, device=hostile, reason=hostile, trap=hostile),)
    )

    assert "\x1b" not in page
    assert "\u202e" not in page
    assert "[red]" in page.replace("\n", "").replace(" ", "")
    assert max(cell_len(line) for line in page.splitlines()) <= 80
