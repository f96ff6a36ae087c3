"""Whatever is done to the register, in whatever order: its files say the same, nothing reverts it, laptops agree."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from roundtui.errors import RoundtuiError
from roundtui.store.exchange.bundle import pack
from roundtui.store.exchange.merge import merge
from roundtui.store.folder import open_folder
from roundtui.store.record import journal
from roundtui.store.record import lanes as ids
from roundtui.store.record.read import programme
from roundtui.store.set_up.columns import BY_NAME, Values, digest_of, rows_in
from roundtui.store.set_up.load import load_folder, write_in_place, write_set_up
from roundtui.store.set_up.register import (
    ROUTES,
    TRAPS,
    RegisterChange,
    added,
    carry_out,
    edited,
    hung_again,
    moved,
    never_down,
    reordered,
    row_of,
    taken_down,
    undone,
)
from roundtui.store.set_up.versions import not_in_files, open_rows
from tests.conftest import NOW, write_folder

FIRST = date(2026, 4, 20)
ADA = journal.Author("Ada", "desk")
KINDS = ("move", "down", "never", "again", "add", "edit", "hung", "farm", "block", "lot", "order", "undo")
changes = st.tuples(
    st.sampled_from(KINDS), st.integers(1, 5), st.integers(0, 40), st.sampled_from(("", "3", "12", "=1+1", 'a\rb\n,"c'))
)


def made(conn: sqlite3.Connection, kind: str, number: int, days: int, text: str) -> RegisterChange:
    trap, day = f"A{number}", FIRST + timedelta(days=days)
    farms, blocks, lures = BY_NAME["farms.csv"], BY_NAME["blocks.csv"], BY_NAME["lures.csv"]

    def here() -> Values:
        return row_of(conn, TRAPS, trap)

    def undo() -> RegisterChange:
        entries = conn.execute("SELECT id FROM set_up_changes ORDER BY id DESC LIMIT 3").fetchall()
        return undone(conn, entries[days % len(entries)][0] if entries else "", day)

    def order() -> RegisterChange:
        route = [row["trap"] for row in rows_in(conn, ROUTES).values()]
        return reordered(conn, "home", route[days % 4 :] + route[: days % 4], day)

    new = {"trap": trap, "block": "N", "species": "CM", "hung_on": day.isoformat(), "note": text}
    by_kind: dict[str, Callable[[], RegisterChange]] = {
        "move": lambda: moved(here(), {"block": "NS"[days % 2], "row": text}, day),
        "down": lambda: taken_down(here(), day),
        "never": lambda: never_down(here(), day),
        "again": lambda: hung_again(here(), {"tree": text}, day),
        "add": lambda: added(TRAPS, new, day),
        "edit": lambda: edited(TRAPS, here(), {"note": text, "height_m": str(days / 8)}, day),
        "hung": lambda: edited(TRAPS, here(), {"hung_on": day.isoformat()}, day),
        "farm": lambda: edited(farms, row_of(conn, farms, "HF"), {"phone": text}, day),
        "block": lambda: edited(blocks, row_of(conn, blocks, "N"), {"no_entry_before": day.isoformat()}, day),
        "lot": lambda: added(lures, {"lot": f"L{number}", "species": "CM", "note": text}, day),
        "order": order,
        "undo": undo,
    }
    return by_kind[kind]()


def of_store(conn: sqlite3.Connection) -> set[str]:
    return {digest_of(file, values) for file in BY_NAME.values() for values in rows_in(conn, file).values()}


@settings(max_examples=15, deadline=None)
@given(st.lists(changes, min_size=1, max_size=12))
def test_files_loads_and_laptops_agree_with_the_register_after_any_changes(
    done: list[tuple[str, int, int, str]],
) -> None:
    with TemporaryDirectory() as at:
        folder = write_folder(Path(at) / "farm")
        with closing(open_folder(folder, now=NOW).conn) as conn:
            for minute, change in enumerate(done):
                before = of_store(conn), conn.execute("SELECT count(*) FROM set_up_changes").fetchone()
                try:
                    carry_out(conn, made(conn, *change), ADA, NOW + timedelta(minutes=minute))
                except RoundtuiError:
                    assert before == (of_store(conn), conn.execute("SELECT count(*) FROM set_up_changes").fetchone())
            here, rows = programme(conn), of_store(conn)

            # A trap keeps its species, and hangs in one place at a time.
            raw = sorted((row.trap, str(row.hung_on), str(row.down_on), row.species) for row in here.traps)
            for (trap, _, down, species), (other, hung, _, again) in pairwise(raw):
                if trap == other:
                    assert species == again
                    assert down <= hung

            # The files of before, loaded again, revert nothing.
            report = load_folder(conn, folder, NOW)
            assert (report.changed, report.contested) == (False, [])
            assert of_store(conn) == rows

            # Another laptop with those files has the same rows, and nobody is asked.
            pack(conn, Path(at) / "desk.bundle", "desk", NOW)
            ids._last_ms = 0
            with closing(open_folder(write_folder(Path(at) / "truck"), now=NOW).conn) as truck:
                merge(truck, [Path(at) / "desk.bundle"])
                assert open_rows(truck) == ()
                assert of_store(truck) == rows

            # Files written anew bring the same set-up elsewhere, and nothing new here.
            write_set_up(conn, Path(at) / "new")
            with closing(open_folder(Path(at) / "new", now=NOW).conn) as new:
                assert programme(new) == here
            write_in_place(conn, folder, NOW)
            report = load_folder(conn, folder, NOW)
            assert (report.changed, report.contested) == (False, [])
            assert of_store(conn) == rows
            assert not_in_files(conn) == ()
