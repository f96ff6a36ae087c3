"""What else was in a trap, vials, and what a name does to a count."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from roundtui.domain.entries import Specimen, Visit
from roundtui.domain.programme.farm import Block, Farm, Programme, Trap
from roundtui.domain.round.specimens import (
    KINDS,
    LOOK_ALIKES,
    amended,
    check_in_count,
    check_specimen,
    is_open,
    likenesses,
    named,
    next_vial,
    rest_of,
    taken_off,
    what_it_is,
)
from roundtui.errors import RefusedError

FOUND = date(2026, 5, 12)
NAMED = date(2026, 5, 20)
PROGRAMME = Programme(
    farms={"F": Farm("F", "F")},
    blocks={"N1": Block("N1", "F", "N1", "apple")},
    traps=(Trap("M3", "N1", "OFM", hung_on=date(2026, 4, 1)), Trap("K1", "N1", "QXM", hung_on=date(2026, 4, 1))),
)


def specimen(**more: Any) -> Specimen:
    """Two doubtful moths of the trap M3, in the vial V-12 and in the count."""
    values = {"trap": "M3", "read_on": FOUND, "what": "unknown", "number": 2, "vial": "V-12", "in_count": True}
    return Specimen(**{**values, "id": "s1", "scout": "Ida", **more})


def visit(count: int, **more: Any) -> Visit:
    return Visit(trap="M3", read_on=FOUND, count=count, id="v1", scout="Ida", **more)


def test_a_look_alike_that_was_counted_comes_off_the_count_when_it_is_named() -> None:
    before = specimen()
    after = named(before, "lesser appleworm", "Wren Tallow", NAMED)
    fixed = amended([visit(9, liner=True)], before, after, PROGRAMME)
    assert fixed is not None
    assert (fixed.count, fixed.liner, fixed.replaces) == (7, True, "v1")
    assert fixed.reason == "V-12 is lesser appleworm, named by Wren Tallow: 2 taken off"


def test_the_traps_own_species_changes_nothing_where_it_was_counted_and_adds_where_it_was_not() -> None:
    before = specimen()
    assert amended([visit(9)], before, named(before, "OFM", "Wren", NAMED), PROGRAMME) is None
    left_out = specimen(in_count=False)
    fixed = amended([visit(0)], left_out, named(left_out, "OFM", "Wren", NAMED), PROGRAMME)
    assert fixed is not None
    assert (fixed.count, fixed.reason) == (2, "V-12 is OFM, named by Wren: 2 put on")


def test_a_name_is_undone_by_naming_again_and_the_count_goes_back() -> None:
    foreign = named(specimen(), "lesser appleworm", "Wren", NAMED)
    foreign = replace(foreign, id="s2")
    own = named(foreign, "OFM", "Wren", NAMED)
    fixed = amended([visit(7)], foreign, own, PROGRAMME)
    assert fixed is not None
    assert fixed.count == 9
    nobody = named(foreign, "unknown", "Wren", NAMED)
    assert (nobody.identified_on, nobody.identified_by, is_open(nobody)) == (None, "", True)
    back = amended([visit(7)], foreign, nobody, PROGRAMME)
    assert back is not None
    assert (back.count, back.reason) == (9, "V-12 is not named any more: 2 put on")


def test_a_vial_can_hold_two_species_and_is_named_in_parts() -> None:
    before = specimen(number=3)
    after, rest = named(before, "lesser appleworm", "Wren", NAMED, number=2), rest_of(before, 2)
    assert rest is not None
    assert (after.number, rest.number, is_open(rest), rest.replaces) == (2, 1, True, None)
    fixed = amended([visit(9)], before, after, PROGRAMME, rest)
    assert fixed is not None
    assert fixed.count == 7
    # Two of the three turn out to be the trap's own after all: the third stays off.
    all_off = replace(named(before, "lesser appleworm", "Wren", NAMED), id="s2")
    half = amended([visit(6)], all_off, named(all_off, "OFM", "Wren", NAMED, 2), PROGRAMME, rest_of(all_off, 2))
    assert half is not None
    assert half.count == 8


def test_more_than_were_counted_cannot_come_off() -> None:
    before = specimen()
    with pytest.raises(RefusedError, match="1 counted, and 2 of them cannot come off"):
        amended([visit(1)], before, named(before, "lesser appleworm", "Wren", NAMED), PROGRAMME)


def test_a_second_sample_is_left_alone_and_two_readings_must_be_settled_first() -> None:
    before = specimen(scout="Cleo")
    after = named(before, "lesser appleworm", "Wren", NAMED)
    again = replace(visit(8), id="v2", recount=True, scout="Ben")
    fixed = amended([visit(9), again], before, after, PROGRAMME)
    assert fixed is not None
    assert (fixed.replaces, fixed.count) == ("v1", 7)
    two = [visit(9), replace(visit(4), id="v3", scout="Ben")]
    with pytest.raises(RefusedError, match="two readings of the day disagree"):
        amended(two, before, after, PROGRAMME)
    mine = amended(two, before, replace(after, scout="Ben"), PROGRAMME)
    assert mine is not None
    assert mine.replaces == "v3"
    with pytest.raises(RefusedError, match="there is no count on that day"):
        amended([], before, after, PROGRAMME)


def test_only_a_named_specimen_bears_on_a_count() -> None:
    assert taken_off(specimen(what="wasp"), PROGRAMME) == 0
    assert taken_off(specimen(what="wasp", identified_on=NAMED, identified_by="Ida"), PROGRAMME) == 2
    assert taken_off(specimen(what="OFM", identified_on=NAMED, identified_by="Ida"), PROGRAMME) == 0


def test_names_are_written_one_way_and_a_slip_of_the_finger_is_asked_about() -> None:
    assert what_it_is("Oriental Fruit Moth", PROGRAMME) == ("OFM", None)
    assert what_it_is("grapholita  PRUNIVORA", PROGRAMME) == ("lesser appleworm", None)
    assert what_it_is("qxm", PROGRAMME) == ("QXM", None)
    assert what_it_is("Hedya nubiferana", PROGRAMME) == ("Hedya nubiferana", None)
    for slip in ("oriental fruitmoth", "leser appleworm", "wsap", ""):
        word, problem = what_it_is(slip, PROGRAMME)
        assert word == ""
        assert problem is not None
        assert problem.hint


def test_more_than_were_counted_cannot_be_among_them() -> None:
    assert check_in_count(specimen(number=9), [], 9) == ()
    assert "10 cannot be among the 9 counted" in str(check_in_count(specimen(number=10), [], 9)[0])
    noted = [specimen(number=8, id="s0")]
    assert "10 cannot be among the 9 counted, 8 of them noted before" in str(check_in_count(specimen(), noted, 9)[0])
    assert check_in_count(specimen(replaces="s0"), noted, 9) == ()
    assert "no count that could hold them" in str(check_in_count(specimen(), [], None)[0])
    assert check_in_count(specimen(in_count=False), [], None) == ()


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"trap": "M33"}, "there is no trap M33"),
        ({"read_on": date(2026, 3, 1)}, "did not hang"),
        ({"number": 0}, "0 of a kind is impossible"),
        ({"what": " "}, "nothing says what it is"),
        ({"vial": "V" * 30}, "30 characters"),
        ({"identified_on": NAMED}, "both its day and who gave it"),
        ({"identified_by": "Wren"}, "both its day and who gave it"),
        ({"identified_on": date(2026, 5, 1), "identified_by": "Wren"}, "named before it was found"),
        ({"identified_on": NAMED, "identified_by": "Wren"}, "unknown is no name"),
        ({"what": "wasp", "identified_on": NAMED, "identified_by": "Wren"}, "changes the count"),
    ],
)
def test_what_cannot_be_is_refused_in_a_file(wrong: dict[str, Any], message: str) -> None:
    assert check_specimen(specimen(), PROGRAMME) == ()
    problems = check_specimen(specimen(**wrong), PROGRAMME)
    assert message in str(problems[0])
    assert all(problem.hint for problem in problems)


def test_vials_are_numbered_on_from_the_highest() -> None:
    assert next_vial([]) == "V-1"
    assert next_vial(["V-9", "v-11", "jar 40", "V-2"]) == "V-12"


def test_every_kind_has_a_letter_of_its_own_and_look_alikes_name_their_source() -> None:
    assert len({kind.key for kind in KINDS.values()}) == len(KINDS)
    assert all(one.source for one in LOOK_ALIKES)
    assert next(one.name for one in likenesses("OFM")) == "lesser appleworm"
    assert "lesser appleworm" not in [one.name for one in likenesses("CM")]
