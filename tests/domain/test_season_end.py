"""The end of a season, counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from roundtui.domain.entries import NONE, YES, NoReading, Visit
from roundtui.domain.programme.farm import Block, Farm, Lot, Programme, Stop, Trap
from roundtui.domain.season.years import SeasonEnd, rounds_walked, season_end

MONDAY = date(2025, 5, 5)
SEASON = (2025, date(2025, 1, 1), date(2025, 12, 31))


def visit(trap: str, day: int, count: int | None = 0, **more: object) -> Visit:
    return Visit(trap=trap, read_on=MONDAY + timedelta(days=day), count=count, scout="Ada", **more)  # type: ignore[arg-type]


def programme() -> Programme:
    hung = date(2025, 4, 28)
    return Programme(
        farms={code: Farm(code, code) for code in ("HF", "LF")},
        blocks={"N": Block("N", "HF", "North", "apple"), "S": Block("S", "LF", "South", "apple")},
        traps=(
            Trap("A1", "N", "CM", hung_on=hung, lot="CM25"),
            Trap("A2", "N", "CM", hung_on=hung, down_on=date(2025, 6, 2), lot="CM25"),
            Trap("A2", "N", "CM", hung_on=date(2025, 6, 2), lot="CM25", row="9"),
            Trap("B1", "S", "OFM", hung_on=hung),
            Trap("C1", "N", "CM", hung_on=date(2024, 4, 29), down_on=date(2024, 9, 30), lot="CM25"),
        ),
        lots={"CM25": Lot("CM25", "CM"), "CM26": Lot("CM26", "CM"), "OFM25": Lot("OFM25", "OFM")},
        stops=tuple(Stop("home", at, trap) for at, trap in enumerate(("A1", "A2", "B1"))),
    )


def end(*visits: Visit, farm: str = "") -> SeasonEnd:
    by_trap: dict[str, list[Visit]] = {}
    for one in visits:
        by_trap.setdefault(one.trap, []).append(one)
    return season_end(programme(), by_trap, (), SEASON, farm)


def test_rounds_readings_and_visits_without_one() -> None:
    """Two rounds, one over two days with a second sample; A2 skipped once. Last year's round is not this season's."""
    found = end(
        visit("A1", -365, 3),
        *(visit("A1", 0, 3), visit("A2", 0, None, no_reading=NoReading.SKIPPED), visit("B1", 1, 1)),
        visit("A1", 1, 4, recount=True),
        *(visit("A1", 7, 2), visit("A2", 7, 0), visit("B1", 7, 0)),
    )
    assert found.rounds == (("home", 2),)
    assert (found.readings, found.not_read) == (5, ((NoReading.SKIPPED, 1),))
    assert (found.traps, found.scouts) == (3, ("Ada",))


def test_a_farm_has_its_own_rounds_and_traps() -> None:
    """The second week the scout never came to the other farm."""
    found = (visit("A1", 0), visit("A2", 0), visit("B1", 0), visit("A1", 7), visit("A2", 7))
    assert [end(*found, farm=farm).rounds_walked for farm in ("", "HF", "LF")] == [2, 2, 1]
    assert [end(*found, farm=farm).traps for farm in ("", "HF", "LF")] == [3, 2, 1]


def test_a_round_ends_where_a_trap_is_come_to_again_or_after_six_days() -> None:
    assert rounds_walked([]) == 0
    assert rounds_walked([visit("A1", 0), visit("A1", 2)]) == 1
    assert rounds_walked([visit("A1", 0), visit("A1", 3)]) == 2
    assert rounds_walked([visit("A1", 0), visit("A2", 6)]) == 1
    assert rounds_walked([visit("A1", 0), visit("A2", 7)]) == 2
    assert rounds_walked([visit("A1", 0, None, liner=True)]) == 0


def test_a_trap_that_stays_missing_is_lost_once_and_one_lost_again_twice() -> None:
    gone = {"count": None, "no_reading": NoReading.MISSING}
    found = end(
        *(visit("A1", 0, **gone), visit("A1", 7, **gone), visit("A1", 14, 0), visit("A1", 21, **gone)),
        visit("A2", 0, None, no_reading=NoReading.DOWN),
    )
    assert found.lost == (("A1", MONDAY), ("A1", MONDAY + timedelta(days=21)))


def test_lures_are_those_hung_and_those_replaced_by_lot() -> None:
    """Three hung; a move keeps its lure; yes is the lot last used there; a lure taken out is none put out."""
    found = end(
        visit("A1", 7, lure="CM26"),
        visit("A1", 49, lure=YES),
        visit("A2", 42, lure=YES),
        visit("A2", 49, lure=NONE),
        visit("B1", 7, lure="CM25"),
    )
    assert found.lures == (("CM", "CM25", 4), ("CM", "CM26", 2), ("OFM", "", 1))


def test_a_lure_that_a_trap_was_wrongly_hung_with_is_of_its_own_species() -> None:
    known = programme()
    hung = Trap("B2", "S", "OFM", hung_on=date(2025, 4, 28), lot="CM25")
    found = season_end(replace(known, traps=(*known.traps, hung)), {}, (), SEASON, "")
    assert found.lures == (("CM", "CM25", 3), ("OFM", "", 1))


def test_liners_kill_strips_and_bodies() -> None:
    found = end(visit("A1", 0, liner=True, kill_strip=True), visit("A1", 7, liner=True), visit("B1", 7, body=YES))
    assert (found.liners, found.kill_strips, found.bodies) == (2, 1, 1)
