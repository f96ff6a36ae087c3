"""The register changed in the app: moved, taken down, hung again, reordered, reverted; never erased, never reverted."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import Visit
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store.folder import open_folder
from roundtui.store.record import journal
from roundtui.store.record.read import programme
from roundtui.store.set_up import register
from roundtui.store.set_up.columns import BY_NAME
from roundtui.store.set_up.load import like_formulas, load_folder, write_in_place, write_set_up
from roundtui.store.set_up.register import (
    ROUTES,
    TRAPS,
    RegisterChange,
    added,
    carry_out,
    edited,
    history_of,
    hung_again,
    lot_in,
    moved,
    never_down,
    remarks_on,
    reordered,
    row_of,
    taken_down,
    undone,
)
from roundtui.store.set_up.versions import not_in_files, open_rows
from tests.conftest import NOW, MakeFolder, write_folder
from tests.conftest import TRAPS as TRAPS_CSV

ADA = journal.Author("Ada", "desk")
MOVED_ON = date(2026, 5, 12)
FARMS, BLOCKS = BY_NAME["farms.csv"], BY_NAME["blocks.csv"]


def do(conn: sqlite3.Connection, change: RegisterChange, minutes: int = 0) -> None:
    carry_out(conn, change, ADA, NOW + timedelta(minutes=minutes))


def move_a1(conn: sqlite3.Connection) -> None:
    do(conn, moved(row_of(conn, TRAPS, "A1"), {"block": "S", "row": "3", "tree": "9"}, MOVED_ON, "spray drift"))


def hangings(conn: sqlite3.Connection, trap: str) -> list[tuple[str, str, str]]:
    return [(row.block, str(row.hung_on), str(row.down_on or "")) for row in programme(conn).hangings[trap]]


def test_a_moved_trap_has_two_hangings_that_meet_on_the_day_and_the_entries_say_who_and_why(
    store: sqlite3.Connection,
) -> None:
    move_a1(store)

    assert hangings(store, "A1") == [("N", "2026-04-20", "2026-05-12"), ("S", "2026-05-12", "")]
    new, old = history_of(store, TRAPS, "A1")
    assert (old.change, old.done_on, old.scout, old.words) == ("moved", MOVED_ON, "Ada", "spray drift")
    assert json.loads(old.becomes) == json.loads(old.was) | {"down_on": "2026-05-12"}
    assert new.was == ""
    assert json.loads(new.becomes)["row"] == "3"


def test_the_position_of_the_old_place_does_not_go_with_a_trap_that_moves(make_folder: MakeFolder) -> None:
    traps = "trap,block,species,hung_on,row,tree,lat,lon,height_m\nA1,N,CM,2026-04-20,4,12,48.1,-123.4,3.5\n"
    with closing(open_folder(make_folder(traps=traps, routes=None), now=NOW).conn) as conn:
        do(conn, moved(row_of(conn, TRAPS, "A1"), {"row": "6"}, MOVED_ON))
        row = row_of(conn, TRAPS, "A1")

        assert (row["row"], row["tree"], row["lat"], row["lon"], row["height_m"]) == ("6", "12", None, None, 3.5)


@pytest.mark.parametrize(
    ("typed", "day", "words"),
    [
        ({"block": "N"}, "2026-05-12", "A1 hangs there already"),
        ({"block": "S"}, "2026-04-20", "A1 was hung on 2026-04-20, and cannot have been moved on 2026-04-20"),
        ({"block": "Q"}, "2026-05-12", "there is no block Q"),
        ({"block": "S", "species": "OFM"}, "2026-05-12", "A1 is a trap for CM and cannot become one for OFM"),
        ({"block": "S", "height_m": "2,5"}, "2026-05-12", "'2,5' is no number"),
        ({"block": "S", "colour": "red"}, "2026-05-12", "has no column colour"),
    ],
)
def test_a_move_that_cannot_be_is_refused_and_nothing_is_changed(
    store: sqlite3.Connection, typed: dict[str, str], day: str, words: str
) -> None:
    before = programme(store)

    with pytest.raises(ProblemsError) as refused:
        do(store, moved(row_of(store, TRAPS, "A1"), typed, date.fromisoformat(day)))

    assert words in str(refused.value.problems[0])
    assert programme(store) == before
    assert history_of(store, TRAPS, "A1") == ()


def test_a_trap_hangs_in_one_place_at_a_time(store: sqlite3.Connection) -> None:
    with pytest.raises(ProblemsError, match="refused that"):
        do(store, added(TRAPS, {"trap": "A1", "block": "S", "species": "CM", "hung_on": "2026-05-01"}, MOVED_ON))
    do(store, taken_down(row_of(store, TRAPS, "A1"), MOVED_ON))
    with pytest.raises(ProblemsError, match="refused that"):
        do(store, hung_again(row_of(store, TRAPS, "A1"), {}, MOVED_ON - timedelta(days=1)))
    do(store, hung_again(row_of(store, TRAPS, "A1"), {}, MOVED_ON + timedelta(days=3)))
    old = row_of(store, TRAPS, "A1", "2026-04-20")
    with pytest.raises(ProblemsError) as refused:
        do(store, never_down(old, MOVED_ON))

    assert "A1 hangs from 2026-05-15 to now already" in str(refused.value.problems[0])


def test_a_day_of_taking_down_set_by_mistake_is_struck_out_and_the_series_goes_on(store: sqlite3.Connection) -> None:
    do(store, taken_down(row_of(store, TRAPS, "A2"), MOVED_ON))
    do(store, never_down(row_of(store, TRAPS, "A2"), MOVED_ON), minutes=1)

    assert hangings(store, "A2") == [("N", "2026-04-20", "")]
    assert [one.change for one in history_of(store, TRAPS, "A2")] == ["restored", "taken-down"]


def test_a_move_that_never_was_is_reverted_by_a_further_entry(store: sqlite3.Connection) -> None:
    before = programme(store)
    move_a1(store)
    (new, _) = history_of(store, TRAPS, "A1")
    do(store, undone(store, new.id, MOVED_ON), minutes=5)

    assert programme(store) == before
    assert [one.change for one in history_of(store, TRAPS, "A1")] == ["restored", "restored", "moved", "moved"]
    with pytest.raises(RefusedError, match="nothing is different"):
        do(store, undone(store, new.id, MOVED_ON), minutes=6)


def test_what_was_changed_again_since_is_not_reverted_over_it(store: sqlite3.Connection) -> None:
    move_a1(store)
    (new, _) = history_of(store, TRAPS, "A1")
    do(store, edited(TRAPS, row_of(store, TRAPS, "A1"), {"tree": "10"}, MOVED_ON), minutes=1)

    with pytest.raises(RefusedError, match="no longer as it was then"):
        do(store, undone(store, new.id, MOVED_ON), minutes=2)
    assert hangings(store, "A1")[1][0] == "S"


def test_a_trap_added_by_mistake_hung_no_night(store: sqlite3.Connection) -> None:
    do(store, added(TRAPS, {"trap": "A9", "block": "N", "species": "CM", "hung_on": "2026-05-12"}, MOVED_ON))
    (entry,) = history_of(store, TRAPS, "A9")
    do(store, undone(store, entry.id, MOVED_ON), minutes=1)

    (row,) = programme(store).hangings["A9"]
    assert not row.hung_a_night_in(MOVED_ON, MOVED_ON + timedelta(days=30))


def test_a_farm_that_was_added_stays_since_entries_may_name_it(store: sqlite3.Connection) -> None:
    do(store, added(FARMS, {"farm": "QF", "name": "Quill Farm"}, MOVED_ON))
    (entry,) = history_of(store, FARMS, "QF")

    with pytest.raises(RefusedError, match="QF was added, and entries may name it: it stays"):
        undone(store, entry.id, MOVED_ON)


def test_labels_stay_and_a_second_row_of_a_label_is_refused(store: sqlite3.Connection) -> None:
    with pytest.raises(ProblemsError) as refused:
        edited(BLOCKS, row_of(store, BLOCKS, "N"), {"block": "NN"}, MOVED_ON)
    assert "the block of a row stays N" in str(refused.value.problems[0])
    with pytest.raises(ProblemsError) as refused:
        do(store, added(FARMS, {"farm": "HF", "name": "Other"}, MOVED_ON))
    assert "HF is in the register already" in str(refused.value.problems[0])


def test_a_route_is_walked_in_another_order_and_reverted_whole(store: sqlite3.Connection) -> None:
    do(store, reordered(store, "home", ["A4", "A1", "A2", "A3"], MOVED_ON))
    assert programme(store).routes["home"] == ("A4", "A1", "A2", "A3")
    with pytest.raises(RefusedError, match="not the traps of route home"):
        reordered(store, "home", ["A4", "A1"], MOVED_ON)

    do(store, undone(store, history_of(store, ROUTES, "home")[0].id, MOVED_ON), minutes=1)

    assert programme(store).routes["home"] == ("A1", "A2", "A3", "A4")


def test_days_on_which_a_trap_no_longer_hung_are_named_before_it_is_taken_down(store: sqlite3.Connection) -> None:
    journal.record(store, [Visit(trap="A1", read_on=date(2026, 5, 19), count=3)], ADA, NOW)
    change = taken_down(row_of(store, TRAPS, "A1"), MOVED_ON)

    (remark,) = remarks_on(store, change)

    assert "A1 has an entry on days on which it did not hang" in remark.message
    assert hangings(store, "A1") == [("N", "2026-04-20", "")]


def test_the_lot_that_hangs_in_a_trap_is_the_one_put_in_last(store: sqlite3.Connection) -> None:
    row = row_of(store, TRAPS, "A1")
    assert lot_in(store, row, MOVED_ON) == ""
    journal.record(store, [Visit(trap="A1", read_on=date(2026, 5, 5), count=0, lure="CM26")], ADA, NOW)
    assert lot_in(store, row, MOVED_ON) == "CM26"


def test_the_traps_that_may_be_in_trouble_are_worked_out_anew(store: sqlite3.Connection) -> None:
    do(store, edited(TRAPS, row_of(store, TRAPS, "A1"), {"lot": "OFM26"}, MOVED_ON))

    assert store.execute("SELECT trap FROM suspect_traps").fetchall() == [("A1",)]


# --- the files, and another laptop -----------------------------------------------------------------------------------


def test_files_that_nobody_touched_do_not_take_a_move_back(folder: Path, store: sqlite3.Connection) -> None:
    move_a1(store)
    (folder / "traps.csv").touch()

    report = load_folder(store, folder, NOW)

    assert not report.changed
    assert report.contested == []
    assert [one.label for one in not_in_files(store)] == ["A1 2026-04-20", "A1 2026-05-12"]


def test_a_row_changed_in_the_file_as_well_waits_to_be_settled(folder: Path, store: sqlite3.Connection) -> None:
    move_a1(store)
    write_folder(folder, traps=TRAPS_CSV.replace("A1,N,CM,delta,", "A1,N,CM,wing,"))

    report = load_folder(store, folder, NOW)

    assert "A1 2026-04-20 was changed in the file and here as well" in report.contested[0].message
    assert hangings(store, "A1")[0] == ("N", "2026-04-20", "2026-05-12")
    with pytest.raises(RefusedError, match=r"changed here as well: traps\.csv A1 2026-04-20"):
        write_in_place(store, folder, NOW)
    assert "wing" in (folder / "traps.csv").read_text()


def test_a_row_that_was_put_away_here_does_not_come_back_by_a_touch_of_its_file(
    folder: Path, store: sqlite3.Connection
) -> None:
    move_a1(store)
    write_in_place(store, folder, NOW)
    load_folder(store, folder, NOW)
    do(store, undone(store, history_of(store, TRAPS, "A1")[0].id, MOVED_ON), minutes=1)
    text = (folder / "traps.csv").read_text()
    (folder / "traps.csv").write_text(text.replace("A1,S,CM,delta,3,9", "A1,S,CM,delta,3,10"))

    report = load_folder(store, folder, NOW)

    assert len(report.contested) == 1
    assert hangings(store, "A1") == [("N", "2026-04-20", "")]


def test_the_files_as_the_register_stands_bring_the_same_set_up_into_an_empty_folder(
    tmp_path: Path, store: sqlite3.Connection
) -> None:
    move_a1(store)
    do(store, edited(BLOCKS, row_of(store, BLOCKS, "N"), {"no_entry_before": "2026-05-14"}, MOVED_ON))
    do(store, edited(FARMS, row_of(store, FARMS, "HF"), {"phone": "+1 555", "visit_last": "yes"}, MOVED_ON))

    assert write_set_up(store, tmp_path / "new") == {
        "farms.csv": 1,
        "blocks.csv": 2,
        "lures.csv": 2,
        "traps.csv": 5,
        "routes.csv": 4,
    }
    with closing(open_folder(tmp_path / "new", now=NOW).conn) as other:
        assert programme(other) == programme(store)
    assert like_formulas(store) == ("farms.csv, phone",)


def test_files_written_in_place_are_nothing_new_and_the_former_ones_are_kept(
    folder: Path, store: sqlite3.Connection
) -> None:
    move_a1(store)
    former = (folder / "traps.csv").read_bytes()

    _, kept = write_in_place(store, folder, NOW)
    report = load_folder(store, folder, NOW)

    assert (report.changed, report.contested, report.remarks) == (False, [], [])
    assert kept is not None
    assert (kept / "traps.csv").read_bytes() == former
    assert not_in_files(store) == ()


def test_a_laptop_that_merges_has_the_rows_as_the_register_of_the_other(
    tmp_path: Path, store: sqlite3.Connection
) -> None:
    from roundtui.store.exchange.bundle import pack
    from roundtui.store.exchange.merge import merge

    move_a1(store)
    pack(store, tmp_path / "desk.bundle", "desk", NOW)
    with closing(open_folder(write_folder(tmp_path / "truck"), now=NOW).conn) as truck:
        merge(truck, [tmp_path / "desk.bundle"])
        assert open_rows(truck) == ()
        assert [one.words for one in history_of(truck, TRAPS, "A1")] == ["spray drift", "spray drift"]
        assert programme(truck) == programme(store)


def test_a_change_of_the_register_is_not_withdrawn_as_an_entry_is(store: sqlite3.Connection) -> None:
    move_a1(store)
    entry = history_of(store, TRAPS, "A1")[0]

    with pytest.raises(RefusedError, match="the row would stay as it is"):
        journal.withdraw(store, entry.id, "a slip", ADA, NOW)
    assert history_of(store, TRAPS, "A1")[0] == entry


def test_a_move_that_was_reverted_elsewhere_is_reverted_here_too(tmp_path: Path, store: sqlite3.Connection) -> None:
    from roundtui.store.exchange.bundle import pack
    from roundtui.store.exchange.merge import merge

    before = programme(store)
    move_a1(store)
    pack(store, tmp_path / "moved.bundle", "desk", NOW)
    (moved_entry, _) = history_of(store, TRAPS, "A1")
    do(store, undone(store, moved_entry.id, MOVED_ON), minutes=1)
    pack(store, tmp_path / "back.bundle", "desk", NOW + timedelta(minutes=2))
    with closing(open_folder(write_folder(tmp_path / "truck"), now=NOW).conn) as truck:
        merge(truck, [tmp_path / "moved.bundle"])
        assert len(hangings(truck, "A1")) == 2
        merge(truck, [tmp_path / "back.bundle"])
        assert open_rows(truck) == ()
        assert programme(truck) == before


def test_only_what_says_something_else_of_lures_has_the_record_of_all_years_read(
    store: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A trap that is taken down holds what it held; one with a lot of another species is suspect at once."""
    read, find = [], register.find_suspect
    monkeypatch.setattr(register, "find_suspect", lambda conn: read.append(conn) or find(conn))
    do(store, taken_down(row_of(store, TRAPS, "A1"), MOVED_ON, ""))
    assert not read
    do(store, edited(TRAPS, row_of(store, TRAPS, "A1"), {"lot": "OFM26"}, MOVED_ON, ""), 1)
    assert len(read) == 1
    assert "A1" in {trap for (trap,) in store.execute("SELECT trap FROM suspect_traps")}
    do(store, taken_down(row_of(store, TRAPS, "A2"), MOVED_ON, ""), 2)
    assert len(read) == 1
