"""An Enter at the stage line is taken when it was meant, and never when the key is held."""

from __future__ import annotations

import pytest

from roundtui.domain.round.entry import EnterWatch, Pressed


def test_an_enter_by_itself_is_meant_at_once() -> None:
    assert EnterWatch(0.0).enter(4.0, at_stage=True) is Pressed.MEANT


@pytest.mark.parametrize("first_repeat", [0.03, 0.25, 0.5, 0.66])
@pytest.mark.parametrize("repeat", [0.03, 0.04, 0.092])
def test_an_enter_held_on_from_a_count_or_from_the_desk_is_never_meant(first_repeat: float, repeat: float) -> None:
    watch = EnterWatch(-10.0)
    watch.enter(0.0, at_stage=False)
    found = [watch.enter(first_repeat + at * repeat, at_stage=True) for at in range(40)]
    assert found == [Pressed.DOUBTFUL, *[Pressed.HELD] * 39]
    assert watch.elapsed() is None


def test_a_second_enter_that_stands_alone_is_meant_unless_the_key_chattered() -> None:
    watch = EnterWatch(0.0)
    assert watch.enter(0.4, at_stage=True) is Pressed.DOUBTFUL
    assert watch.elapsed() is Pressed.MEANT
    chattering = EnterWatch(0.0)
    assert chattering.enter(0.05, at_stage=True) is Pressed.DOUBTFUL
    assert chattering.elapsed() is Pressed.HELD


def test_typing_ahead_loses_no_stage() -> None:
    """Twelve keys a second: Enter of the count before, Enter of the stage, a digit."""
    watch = EnterWatch(-10.0)
    watch.enter(0.0, at_stage=False)
    watch.enter(1 / 12, at_stage=True)
    assert watch.other()
    assert not watch.other()


def test_after_a_held_key_is_let_go_enter_is_meant_again() -> None:
    watch = EnterWatch(0.0)
    for at in range(1, 9):
        watch.enter(at * 0.04, at_stage=True)
    assert watch.enter(1.5, at_stage=True) is Pressed.MEANT
