"""One entry keyed in: every key of the count field, without a screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import NONE, YES, NoReading, StageSeen, Visit
from roundtui.domain.programme.farm import Lot, Programme, Trap
from roundtui.domain.round.agenda import Choice, found_choices, lure_choices, stage_choices
from roundtui.domain.round.entry import NUMLOCK_OFF, Asked, Mode, TrapEntry, Want, begin, correction, press
from roundtui.domain.round.tally import parse_tally

DAY = date(2031, 6, 3)
TRAP = Trap(trap="A7", block="A", species="CM")
LOTS = {
    "C1": Lot("C1", "CM", expires_on=date(2031, 12, 1)),
    "C2": Lot("C2", "CM", expires_on=date(2032, 6, 1)),
    "C0": Lot("C0", "CM", expires_on=date(2031, 6, 2)),
    "F1": Lot("F1", "OFM"),
}
PROGRAMME = Programme(traps=(TRAP,), lots=LOTS)
BLANK = Visit(trap="A7", read_on=DAY)


def asked(**more: object) -> Asked:
    return Asked(**{"draft": BLANK, "lures": (Choice("C1", "lot C1"),), **more})  # type: ignore[arg-type]


def keyed(keys: str | list[str], start: TrapEntry | None = None) -> TrapEntry:
    now = start or begin(asked())
    for key in keys:
        now = press(now, key)
    return now


def entered(keys: str, start: TrapEntry | None = None) -> Visit:
    now = press(keyed(keys, start), "enter")
    assert now.want is Want.RECORD, now.said
    return now.visit


def test_digits_and_enter_are_a_count() -> None:
    assert entered("14") == replace(BLANK, count=14)
    assert entered("0") == replace(BLANK, count=0)


def test_whole_entries_in_one_go() -> None:
    assert entered("4o12lr") == replace(BLANK, count=4, others=12, liner=True, lure="C1")
    assert entered("xml") == replace(BLANK, no_reading=NoReading.MISSING, liner=True)
    assert entered("12c") == replace(BLANK, count=12, cleared=False)


@pytest.mark.parametrize(
    "keys",
    ["4", "0", "4o12l", "xml", "4 l", "12ck", "3e", "XS", "7LKCE", "x d", "4nhalf under leaves", "x o nleft ajar"],
)
def test_an_entry_means_here_what_it_means_on_paper(keys: str) -> None:
    draft, problems = parse_tally(keys)
    assert not problems
    assert draft is not None
    assert entered(keys.replace("x o n", "xo")) == draft.visit("A7", DAY)


@pytest.mark.parametrize(
    ("pad", "letters"),
    [
        ("4+", "4l"),
        ("4*", "4r"),
        ("4.", "4c"),
        ("4,", "4c"),
        *((f"/{n}", f"x{a}") for n, a in zip("12345", "scmdg", strict=True)),
    ],
)
def test_the_number_pad_says_the_same_as_the_letters(pad: str, letters: str) -> None:
    assert entered(pad) == entered(letters)


def test_blank_enter_stays_and_says_so_however_often_it_comes() -> None:
    for now in (keyed(["enter"]), keyed(["enter"] * 40)):
        assert now.want is Want.NOTHING
        assert "Blank is not zero" in now.said


def test_flags_without_a_count_stay_and_ask_for_zero_or_x() -> None:
    now = keyed(["l", "enter"])
    assert now.want is Want.NOTHING
    assert "0, or x" in now.said
    assert now.draft.liner


def test_a_kill_strip_put_in_is_answered_by_gloves() -> None:
    assert "gloves on" in keyed(["k"]).said
    assert keyed(["k", "k"]).said == keyed(["l"]).said == ""


def test_a_count_and_a_reason_never_stand_together() -> None:
    assert keyed("4x").mode is Mode.COUNT
    assert keyed("4x").said.startswith("Backspace the 4 first, then x")
    assert keyed(["x", "m", "4", "enter"]).want is Want.NOTHING, "neither is recorded until one is left"
    assert keyed(["x", "m", "4", "backspace", "enter"]).visit == replace(BLANK, no_reading=NoReading.MISSING)
    assert keyed(["x", "f", "escape", "4"]).visit == replace(BLANK, count=4)
    assert keyed(["x", "m", "backspace", "4"]).visit == replace(BLANK, count=4)


def test_a_recount_needs_a_count_by_somebody_else_on_the_day() -> None:
    now = keyed(["menu-1"])
    assert "nobody else counted A7 today" in now.said
    assert not now.draft.recount
    unread = keyed(["menu-1"], begin(asked(theirs=replace(BLANK, no_reading=NoReading.SKIPPED, scout="Ben"))))
    assert not unread.draft.recount, "a trap that was not read has no count to compare with"
    theirs = replace(BLANK, count=7, scout="Ben", id="v9")
    again = keyed(["menu-1"], begin(asked(theirs=theirs)))
    assert again.draft.recount
    assert not keyed(["menu-1"], again).draft.recount
    mine = replace(BLANK, count=8, id="v8")
    assert keyed(["menu-1"], correction(asked(theirs=theirs), mine)).draft.recount, "a second count made a recount"
    assert not keyed(["menu-1"], correction(asked(theirs=theirs), theirs)).draft.recount, "a recount of itself"
    marked = correction(asked(), replace(mine, recount=True))
    assert keyed(["menu-1", "menu-1"], marked).draft.recount, "taken off and put on again"


def test_the_reason_is_called_off_by_escape_or_backspace_and_refuses_any_other_key() -> None:
    for key in ("escape", "backspace"):
        now = keyed(["x", key])
        assert (now.mode, now.draft.no_reading) == (Mode.COUNT, None)
    for key in ("y", "enter", "0", "8", "up", "z", "l"):
        assert keyed(["x", key]).mode is Mode.REASON
        assert keyed(["x", key]).want is Want.NOTHING
    assert entered("xf", None) == replace(BLANK, no_reading=NoReading.CLOSED)
    assert keyed("x7").farm, "the rest of the farm, on a number pad"


def test_other_asks_for_its_note_and_enter_ends_the_line_and_the_entry() -> None:
    now = keyed("xo")
    assert now.mode is Mode.NOTE
    assert entered("xogate shut", None) == replace(BLANK, no_reading=NoReading.OTHER, note="gate shut")


def test_a_note_that_is_opened_again_is_changed_and_says_so() -> None:
    """Escape keeps it, n opens it again: more words stand apart from it, and nothing typed leaves it as it was."""
    again = keyed([*"nlid loose", "escape", "n"])
    assert (again.mode, again.line) == (Mode.NOTE, "lid loose ")
    assert "Edit the note" in again.said
    assert keyed([*"nlid loose", "escape", *"nwet", "escape"]).draft.note == "lid loose wet"
    assert keyed([*"nlid loose", "escape", "n", "escape"]).draft.note == "lid loose"


def test_a_note_keeps_every_letter_and_escape_keeps_the_note() -> None:
    now = keyed([*"4nLx 0z", "escape"])
    assert (now.mode, now.draft.note, now.text) == (Mode.COUNT, "Lx 0z", "4")
    assert press(keyed("nx"), "enter").want is Want.NOTHING


def test_toggles_take_themselves_back() -> None:
    assert keyed("llrrkkcceebb").draft == replace(BLANK)
    assert keyed([*"l" * 3]).draft.liner


def test_caps_lock_changes_nothing() -> None:
    assert entered("4LRO12") == entered("4lro12")


def test_escape_never_loses_a_count_at_once() -> None:
    now = keyed(["4", "escape"])
    assert (now.want, now.text) == (Want.NOTHING, "4")
    assert "not saved yet" in now.said
    assert press(now, "escape").want is Want.BACK
    assert press(press(now, "l"), "escape").want is Want.NOTHING
    assert keyed(["escape"]).want is Want.BACK


def test_an_arrow_drops_what_was_typed_with_a_word_and_minus_only_says_so() -> None:
    assert keyed(["4", "up"]).want is Want.BEFORE
    assert "4 dropped" in keyed(["4", "up"]).said
    assert keyed(["4", "-"]).want is Want.NOTHING
    assert keyed(["4", "-"]).text == "4"
    assert keyed(["-"]).want is Want.BEFORE
    assert keyed(["down"]).want is Want.AFTER


def test_enter_right_after_a_bare_arrow_says_that_it_only_looked() -> None:
    now = press(begin(asked(), looked=True), "enter")
    assert now.want is Want.NOTHING
    assert "NumLock" in now.said


@pytest.mark.parametrize("key", ["home", "end", "insert", "delete", "pageup", "pagedown", "kp_begin", "left"])
def test_a_number_pad_without_numlock_is_told_so(key: str) -> None:
    now = keyed(["4", key])
    assert (now.said, now.text) == (NUMLOCK_OFF, "4")


def test_a_lure_takes_a_lot_and_names_it_and_no_list_swallows_the_count() -> None:
    two = begin(asked(lures=lure_choices(PROGRAMME, TRAP, DAY, "C1")))
    assert keyed("4r").draft.lure == "C1"
    now = keyed("r", two)
    assert "lot C1" in now.said
    visit = entered("r16", two)
    assert (visit.count, visit.lure) == (16, "C1")
    assert keyed("rr", two).draft.lure is None
    listed = press(two, "menu-4")
    assert [choice.value for choice in listed.choices] == ["C1", "C2", YES, NONE, "F1"]
    assert press(listed, "2").draft.lure == "C2"


def test_the_lot_used_last_in_the_round_comes_before_the_one_in_the_trap() -> None:
    lures = lure_choices(PROGRAMME, TRAP, DAY, "C1", "C2")
    assert [choice.value for choice in lures][:2] == ["C2", "C1"]
    assert lures[1].words.endswith("in the trap now")


def test_another_species_is_a_choice_that_says_what_it_does_and_never_the_default() -> None:
    lures = lure_choices(PROGRAMME, TRAP, DAY)
    now = keyed(["menu-4", "5"], begin(asked(lures=lures)))
    assert now.draft.lure == "F1"
    assert "wrong lure from this day" in now.said
    assert lures[0].value == "C2"


def test_a_wrong_lure_found_is_chosen_and_withdrawn() -> None:
    now = begin(asked(found=found_choices(PROGRAMME, TRAP)))
    assert keyed("w1", now).draft.lure_found == NONE
    assert keyed("w2", now).draft.lure_found == "OFM"
    assert keyed("w2w", now).draft.lure_found is None
    assert keyed(["w", "escape"], now).mode is Mode.COUNT


def test_a_new_body_asks_for_its_label_and_enter_alone_is_a_clean_one() -> None:
    assert keyed(["b", "enter"]).draft.body == YES
    assert keyed([*"bB 12", "enter"]).draft.body == "B 12"
    assert keyed(["b", "escape"]).draft.body is None
    assert entered("4", keyed(["b", "enter"])) == replace(BLANK, count=4, body=YES)


def test_go_to_wants_a_label() -> None:
    now = keyed([*"gb12", "enter"])
    assert (now.want, now.line) == (Want.GO_TO, "b12")
    assert keyed(["g", "enter"]).want is Want.NOTHING


APPLE = {"stages": stage_choices("apple"), "ask_stage": True, "stage_before": "71"}


def test_blank_enter_at_the_stage_says_seen_unchanged_and_wants_it_recorded_by_itself() -> None:
    now = keyed(["enter"], begin(asked(**APPLE)))
    assert (now.mode, now.stage, now.want) == (Mode.COUNT, "71", Want.STAGE)
    assert "seen, unchanged" in now.said
    assert "dropped" not in press(now, "down").said, "it is on record"
    assert keyed(["enter"] * 30, begin(asked(**APPLE))).want is Want.NOTHING
    assert now.seen("A", None) == StageSeen(block="A", seen_on=DAY, code="71", unchanged=True)


def test_a_digit_starts_the_count_and_the_stage_stays_not_looked_at() -> None:
    now = keyed("4", begin(asked(**APPLE)))
    assert (now.mode, now.text, now.stage, now.seen("A", None)) == (Mode.COUNT, "4", None, None)
    assert entered("xm", begin(asked(**APPLE))).no_reading is NoReading.MISSING


def test_up_and_down_belong_to_the_stage_while_it_is_open() -> None:
    now = keyed(["down"], begin(asked(**APPLE)))
    assert (now.want, now.stage) == (Want.NOTHING, "72")
    taken = press(now, "enter")
    assert taken.seen("A", None) == StageSeen(block="A", seen_on=DAY, code="72")
    kept = press(now, "4")
    assert (kept.stage, kept.text, kept.want) == ("72", "4", Want.STAGE), "a stage that was chosen stays"
    earlier = keyed(["up"], begin(asked(**APPLE)))
    assert earlier.stage == "69"
    dropped = press(earlier, "4")
    assert (dropped.stage, dropped.text) == (None, "4")
    assert "69 not saved" in dropped.said, "stages do not run backward by a digit"


def test_a_stage_moved_by_a_pad_without_numlock_goes_back() -> None:
    now = keyed(["down", "home"], begin(asked(**APPLE)))
    assert now.said == NUMLOCK_OFF
    assert press(now, "enter").stage == "71"


@pytest.mark.parametrize("keys", [["up", "up"], ["f", "6", "7"]])
def test_a_stage_that_runs_backward_is_taken_by_y_alone(keys: list[str]) -> None:
    """An 8 of a number pad without NumLock is an Up: 8 and Enter must not put a stage on record."""
    now = keyed([*keys, "enter"], begin(asked(**APPLE)))
    assert (now.want, now.stage_open) == (Want.NOTHING, True)
    assert "do not run backward" in now.said
    assert "NumLock" in now.said
    assert press(now, "enter").want is Want.NOTHING, "nobody says yes by holding Enter"
    taken = press(now, "y")
    assert (taken.want, taken.stage) == (Want.STAGE, "67")
    assert "do not run backward" in taken.said
    assert press(press(now, "up"), "y").want is Want.NOTHING, "another stage is not asked about yet"
    assert press(press(now, "up"), "enter").want is Want.NOTHING, "another stage is warned about anew"


def test_a_stage_on_record_is_chosen_anew_and_not_called_off() -> None:
    now = keyed(["enter", "f", "0", "0", "up", "enter"], begin(asked(**APPLE)))
    assert (now.want, now.stage) == (Want.NOTHING, "71")
    assert "is recorded" in now.said


def test_the_whole_list_of_stages_takes_a_code_a_move_or_not_looked_at() -> None:
    now = begin(asked(**APPLE))
    assert keyed(["f", "7", "4", "enter"], now).stage == "74"
    assert keyed(["f", "enter"], now).stage == "71"
    assert keyed(["f", "0", "0", "up", "enter"], now).stage is None
    assert keyed(["f", "escape"], now).mode is Mode.STAGE
    assert "no stage 90" in keyed("f90", now).said


def test_without_a_stage_on_record_a_blank_enter_stays_and_asks() -> None:
    now = begin(asked(stages=stage_choices("apple"), ask_stage=True))
    assert keyed(["enter"], now).mode is Mode.STAGE
    assert keyed(["down", "enter"], now).stage == "00"


def test_a_stage_of_the_same_day_is_replaced_or_left_standing() -> None:
    before = StageSeen(block="A", seen_on=DAY, code="71", id="s1")
    now = begin(asked(**APPLE))
    assert keyed(["f", "enter"], now).seen("A", before) is None
    changed = keyed(["f", "7", "3", "enter"], now).seen("A", before)
    assert changed is not None
    assert (changed.code, changed.replaces) == ("73", "s1")


OLD = Visit(trap="A7", read_on=DAY, count=14, liner=True, scout="Ida", id="v1")


def test_setting_an_entry_right_keeps_its_flags_and_replaces_it() -> None:
    now = correction(asked(), OLD)
    assert press(now, "enter").want is Want.NOTHING
    assert press(now, "escape").want is Want.BACK
    visit = entered("15", now)
    assert (visit.count, visit.liner, visit.replaces, visit.id, visit.scout) == (15, True, "v1", "", "")
    assert visit.reason


def test_a_flag_forgotten_is_corrected_without_typing_the_count_again() -> None:
    assert entered("k", correction(asked(), OLD)).count == 14
    assert entered("xm", correction(asked(), OLD)).count is None
    assert press(keyed("14", correction(asked(), OLD)), "enter").want is Want.NOTHING


def test_a_trap_read_already_is_offered_as_a_correction() -> None:
    now = keyed(["1", "5", "enter"], begin(asked(standing=OLD)))
    assert now.want is Want.NOTHING
    assert "z makes this a correction" in now.said
    visit = entered("", press(now, "z"))
    assert (visit.count, visit.replaces) == (15, "v1")


def test_when_the_round_is_done_enter_shows_the_summary_and_nothing_can_be_typed() -> None:
    done = begin(asked(finished=True))
    assert keyed(["enter"], done).want is Want.SUMMARY
    assert keyed("4l", done).visit == BLANK


KEYS = st.sampled_from(
    [*"0123456789lrkbcexosmdgnwfz+*./,- ?", "enter", "escape", "backspace", "up", "down", "home", "menu-4", "tab"]
)


@given(st.lists(KEYS, max_size=40))
def test_whatever_is_pressed_a_record_always_has_a_count_or_a_reason(keys: list[str]) -> None:
    now = begin(asked(**APPLE, lures=lure_choices(PROGRAMME, TRAP, DAY), found=found_choices(PROGRAMME, TRAP)))
    for key in keys:
        now = press(now, key)
        if now.want is Want.RECORD:
            assert (now.visit.count is None) != (now.visit.no_reading is None)
