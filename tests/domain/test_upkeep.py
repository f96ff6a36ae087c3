"""Lures, liners and kill strips fall due by their own clocks.

Liners after 30 moths in all: Washington State University Tree Fruit, Monitoring and identification; monthly or when
covered with debris: University of California, Pear, Pheromone traps. Lot life is what the lot says.
"""

from __future__ import annotations

from fractions import Fraction

from roundtui.domain.figures.figures import readings
from roundtui.domain.figures.upkeep import lots_behind, lures_held
from roundtui.domain.programme.species import KILL_STRIP_DAYS, LINER_DAYS, SPECIES, STICKY_DAYS
from tests.domain.orchard import Orchard, day


def due(orchard: Orchard, on: str) -> list[tuple[str, str, str, int | None, int | None]]:
    return [(row.trap, row.item, row.why, row.days_overdue, row.catch) for row in orchard.summary(on).upkeep]


def test_a_lure_lasts_as_long_as_its_lot_says() -> None:
    orchard = Orchard()
    orchard.lot("L1", "CM", life_days=28)
    orchard.hang("A1", on="05-01", lot="L1", style="delta")
    orchard.visit("A1", "05-02", 0, liner=True)
    assert due(orchard, "05-21") == []
    assert due(orchard, "05-22") == [("A1", "lure", "age", -7, None)]
    assert ("A1", "lure", "age", 3, None) in due(orchard, "06-01")
    orchard.visit("A1", "06-01", 0, lure="yes", liner=True)
    assert due(orchard, "06-01") == []
    assert ("A1", "lure", "age", 2, None) in due(orchard, "07-01"), "yes: the lot last used there"


def test_without_a_lot_the_species_usual_life_is_taken_and_said_to_be_assumed() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01", style="delta")
    (row,) = (row for row in orchard.summary("06-30").upkeep if row.item == "lure")
    assert (row.assumed, row.days_overdue) == (True, 60 - SPECIES["CM"].lure_life_days)


def test_what_a_lure_is_made_of_decides_its_life_before_its_species_does() -> None:
    """Codling moth alone, published: 14 days for red rubber (Knight et al. 2000), 28 for membrane (Washington State
    University 1997), 70 for grey rubber from 4 mg and 112 with 50 mg (Knight, J. Entomol. Soc. BC).
    """
    lots = {"RED": ("red rubber septum", "1"), "MEM": ("Membrane", "1"), "GREY": ("grey rubber", "1")}
    lots |= {
        "GREY10": ("gray rubber septum", "10"),
        "GREY50": ("grey rubber", "50"),
        "WAX": ("wax", "1"),
        "X": ("", "1"),
    }
    orchard = Orchard()
    for lot, (substrate, load) in lots.items():
        orchard.lot(lot, "CM", substrate=substrate, load_mg=Fraction(load))
        orchard.hang(lot, on="05-01", lot=lot, style="delta")
    rows = {row.trap: row for row in orchard.summary("09-30").upkeep if row.item == "lure"}
    assert {trap: row.life_days for trap, row in rows.items()} == {
        "RED": 14,
        "MEM": 28,
        "GREY": 28,
        "GREY10": 70,
        "GREY50": 112,
        "WAX": 28,
        "X": 28,
    }
    assert all(row.assumed for row in rows.values()), "the life on the pack, in lures.csv, comes before all of them"
    orchard.lot("RED", "CM", substrate="red rubber", life_days=35)
    assert {row.life_days for row in orchard.summary("09-30").upkeep if (row.trap, row.item) == ("RED", "lure")} == {35}


def test_a_liner_is_full_at_thirty_moths_and_the_count_of_the_visit_is_the_old_liners() -> None:
    assert SPECIES["CM"].liner_moths == 30
    orchard = Orchard()
    orchard.lot("L1", "CM", life_days=99)
    orchard.hang("A1", on="05-01", lot="L1", style="delta")
    orchard.visit("A1", "05-08", 20)
    assert due(orchard, "05-08") == []
    orchard.visit("A1", "05-15", 10)
    assert due(orchard, "05-15") == [("A1", "liner", "catch", 0, 30)]
    orchard.visit("A1", "05-22", 9, liner=True)
    assert due(orchard, "05-22") == []
    orchard.visit("A1", "05-29", 29)
    assert due(orchard, "05-29") == [], "29 since the change"
    age = due(orchard, "06-20")
    assert age == [("A1", "liner", "age", 29 - LINER_DAYS, 29)]


def test_a_kill_strip_ages_in_traps_that_have_one() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="01-10", style="bucket")
    orchard.hang("A2", on="01-10", style="delta")
    assert KILL_STRIP_DAYS == 120, "vapour for up to 4 months: CDC, MMWR 63(2), 2014"
    rows = [row for row in orchard.summary("06-30").upkeep if row.item == "kill-strip"]
    assert [(row.trap, row.days_overdue) for row in rows] == [("A1", 171 - KILL_STRIP_DAYS)]


def test_a_trap_without_a_lure_has_no_lure_to_be_due() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01", style="delta")
    orchard.visit("A1", "05-08", 1, lure="none", liner=True)
    assert [row.item for row in orchard.summary("06-30").upkeep] == ["liner"]


def test_only_traps_that_hang_are_looked_after() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="03-01", down="06-28")
    assert orchard.summary("06-30").upkeep == ()


def test_a_leafminers_liner_is_not_full_after_a_usual_week() -> None:
    """800 to 1,200 a trap and week are usual. Source: Wisconsin DATCP 58(2), 9 May 2013."""
    orchard = Orchard()
    orchard.hang("A1", "A2", on="05-01", species="STLM", style="delta")
    orchard.visit("A1", "05-08", 1000)
    assert [row for row in due(orchard, "05-08") if row[1] == "liner"] == []
    orchard = Orchard()
    orchard.hang("A1", on="05-01", species="OBLR", style="delta")
    orchard.visit("A1", "05-08", 49)
    assert [row for row in due(orchard, "05-08") if row[1] == "liner"] == []
    orchard.visit("A1", "05-15", 1)
    assert ("A1", "liner", "catch", 0, 50) in due(orchard, "05-15")


def test_a_sphere_is_cleaned_or_renewed_after_four_weeks_however_many_flies_it_has() -> None:
    """Cleaned and made sticky anew every three or four weeks. Source: SARE report FNE99-280."""
    assert STICKY_DAYS == 28
    orchard = Orchard()
    orchard.lot("BARE", "AM", kind="unbaited")
    orchard.hang("S1", on="06-01", species="AM", style="Sphere", edge=True, lot="BARE")
    orchard.visit("S1", "06-15", 90)
    assert due(orchard, "06-15") == []
    orchard.visit("S1", "06-29", 5)
    assert due(orchard, "06-29") == [("S1", "liner", "age", 0, 95)]
    orchard.visit("S1", "07-06", 5, liner=True)
    assert due(orchard, "07-06") == []


def test_a_board_that_hangs_without_a_lure_has_none_that_could_be_due() -> None:
    """White boards for sawfly and plant bug work by their colour: Massachusetts, Use of visual traps."""
    orchard = Orchard()
    orchard.hang("B1", on="04-01", species="EAS", style="board")
    orchard.hang("B2", on="04-01", species="BMSB", style="pyramid")
    items = [(row.trap, row.item) for row in orchard.summary("07-30").upkeep]
    assert sorted(items) == [("B1", "liner"), ("B2", "lure")]
    assert orchard.summary("07-30").integrity == ()


def lots_of_newest_reading(orchard: Orchard, on: str) -> list[str | None]:
    """Lots of the lures behind the newest reading of A1; None for one that is not on record."""
    hanging, record = orchard.programme.hanging("A1", day(on)), orchard.history(day(on))
    assert hanging is not None
    visits = record.visits["A1"]
    newest = readings(hanging, visits)[-1]
    held = lures_held(orchard.programme, hanging, visits, record.last_service.get("A1", {}))
    return [lot and lot.lot for lot in lots_behind(held, newest)]


def test_a_count_hangs_on_every_lot_that_caught_some_of_it() -> None:
    orchard = Orchard()
    for lot in ("L1", "L2", "L3"):
        orchard.lot(lot, "CM", life_days=40)
    orchard.hang("A1", on="05-01", lot="L1", style="delta")
    orchard.visit("A1", "05-08", 4)
    assert lots_of_newest_reading(orchard, "05-08") == ["L1"]
    orchard.visit("A1", "05-11", lure="L2")
    orchard.visit("A1", "05-15", 4, lure="L3")
    assert lots_of_newest_reading(orchard, "05-15") == ["L1", "L2"], "what is put in on the day caught nothing of it"
    orchard.visit("A1", "05-22", 4, lure_found="L1")
    assert lots_of_newest_reading(orchard, "05-22") == ["L1"], "what was found was in it since the last change"


def test_a_new_lure_in_the_same_trap_of_last_season_caught_nothing_of_this_one() -> None:
    orchard = Orchard()
    orchard.lot("L1", "CM", life_days=40)
    orchard.lot("L2", "CM", life_days=40)
    orchard.hang("A1", on="04-01", down="05-31", lot="L2", style="delta")
    orchard.visit("A1", "05-11", lure="L2")
    orchard.hang("A1", on="06-10", lot="L1", style="delta")
    orchard.visit("A1", "06-17", 4)
    assert lots_of_newest_reading(orchard, "06-17") == ["L1"]


def test_a_trap_that_nobody_knows_the_hanging_of_has_the_lot_it_is_listed_with() -> None:
    orchard = Orchard()
    orchard.lot("L1", "CM", life_days=40)
    orchard.hang("A1", on=None, lot="L1", style="delta")
    orchard.visit("A1", "06-10", 1)
    orchard.visit("A1", "06-17", 4)
    assert lots_of_newest_reading(orchard, "06-17") == ["L1"]


def test_a_kill_strip_renewed_counts_from_its_own_day() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="01-10", style="bucket")
    orchard.visit("A1", "05-10", 0, kill_strip=True)
    (row,) = (row for row in orchard.summary("09-30").upkeep if row.item == "kill-strip")
    assert (row.since, row.days_overdue, row.assumed) == (day("05-10"), 143 - KILL_STRIP_DAYS, False)


def test_a_contradicted_count_is_no_moth_on_the_liner() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01", style="delta")
    orchard.visit("A1", "05-08", 20)
    orchard.visit("A1", "05-15", 3)
    orchard.visit("A1", "05-15", 5)
    orchard.visit("A1", "05-22", 9)
    assert [row[4] for row in due(orchard, "06-20") if row[1] == "liner"] == [29]
