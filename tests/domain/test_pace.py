"""A round played at the pace it was made."""

from __future__ import annotations

from datetime import timedelta

import pytest

from roundtui.domain.round.recounts import LONGEST_SECONDS, SHORTEST_SECONDS, SPEEDS, Wait, in_words, next_speed, wait


def test_a_short_wait_is_played_as_it_was() -> None:
    assert wait(timedelta(seconds=2), 1) == Wait(2.0, shortened=False)


def test_a_drive_between_farms_is_cut_short_and_that_is_known() -> None:
    assert wait(timedelta(minutes=12), 1) == Wait(LONGEST_SECONDS, shortened=True)
    assert wait(timedelta(minutes=12), 100) == Wait(LONGEST_SECONDS, shortened=True)
    assert wait(timedelta(minutes=4), 100) == Wait(2.4, shortened=False)


@pytest.mark.parametrize("gap", [timedelta(), timedelta(hours=-3)])
def test_entries_recorded_together_or_on_clocks_that_disagree_are_still_seen_one_by_one(gap: timedelta) -> None:
    assert wait(gap, 1) == Wait(SHORTEST_SECONDS, shortened=False)


def test_the_key_for_speed_goes_round() -> None:
    seen = [SPEEDS[0]]
    for _ in SPEEDS:
        seen.append(next_speed(seen[-1]))
    assert seen == [*SPEEDS, SPEEDS[0]]
    assert next_speed(7) == SPEEDS[0]


@pytest.mark.parametrize(
    ("gap", "words"),
    [
        (timedelta(), "0 s"),
        (timedelta(seconds=42.4), "42 s"),
        (timedelta(minutes=12, seconds=3), "12 min 3 s"),
        (timedelta(hours=5, minutes=1, seconds=59), "5 h 1 min"),
        (timedelta(days=2, hours=3), "2 d 3 h"),
        (timedelta(minutes=-3), "-3 min 0 s"),
    ],
)
def test_a_span_is_said_in_its_two_largest_units(gap: timedelta, words: str) -> None:
    assert in_words(gap) == words
