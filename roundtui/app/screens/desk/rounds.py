"""What the desk shows at once: the rounds, and what to know before setting out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from roundtui.app.widgets.board import Part, Row
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.rounds import RoundState, progress
from roundtui.domain.records import Frozen
from roundtui.domain.text import cells, padded, several, spoken_day

if TYPE_CHECKING:
    from roundtui.domain.round.walk import DueItem


class Due(Frozen):
    """What the desk shows beside the rounds, and what it tells the walk."""

    weeks: tuple[Part, Part, Part]
    """The week, for a narrow screen, one of 80 columns, and a wide one."""
    parts: tuple[Part, ...]
    """What needs attention, what is due."""
    question: tuple[object, ...]
    """Opens the entry with the newest open question; empty where none is open."""
    at_traps: Mapping[str, Sequence[DueItem]]
    """What is due or wrong at each trap."""
    thresholds: Mapping[tuple[str, str], tuple[Fraction, Fraction]]
    """Lower and upper threshold by block and species where the rule looks at one week."""
    next_visits: Mapping[str, date]
    """Day by which a trap is to be visited, where the office asks for an interval."""


SIGNS = (
    "? cannot tell  = no rule fits  ○ not read  » past high",
    "* highest trap  + sum  / weeks  ! few traps  w weak",
)
"""What the signs of the week mean."""


def state_words(state: RoundState) -> str:
    """Where a round stands, first its word."""
    so_far = progress(state, None)
    done = len(state.done)
    found = "".join(f", {number} found {reason}" for reason, number in so_far.found)
    if not state.traps:
        return "no trap to read"
    due = sum(trap not in state.later for trap in state.left)
    if state.started_on is None:
        return f"due        {f'{due} of ' if state.later else ''}{several(len(state.traps), 'trap')}"
    begun = spoken_day(state.started_on, state.started_on)
    if state.left:
        return (
            f"under way  {done} of {len(state.traps)}, {due} {'due' if state.later else 'left'}{found}, begun {begun}"
        )
    unread = f", {so_far.unread} missed" if so_far.unread else ""
    return f"done       {done} of {len(state.traps)}{unread}{found}, begun {begun}"


def first_due(rounds: Mapping[str, RoundState]) -> int:
    """Place of the round to open first: one under way, else the first that is due."""
    states = list(rounds.values())
    under_way = [at for at, state in enumerate(states) if state.left and state.done]
    due = [at for at, state in enumerate(states) if state.left]
    return next(iter(under_way + due), 0)


def route_of(programme: Programme, trap: str | None, block: str | None) -> str | None:
    """A route that visits a trap, or a trap of a block; None where there is none."""
    blocks = {label: {row.block for row in rows} for label, rows in programme.hangings.items()}
    for route, labels in programme.routes.items():
        if trap in labels or (trap is None and any(block in blocks.get(label, ()) for label in labels)):
            return route
    return None


def round_rows(rounds: Mapping[str, RoundState], width: int) -> Part:
    """A row for each round, with how far it has come as a bar.

    Args:
        rounds: Their states by route.
        width: Columns.
    """
    rows = []
    for route, state in rounds.items():
        words = f" {padded(route, 18)} {state_words(state)}"
        room = width - cells(words) - 5
        done = len(state.done) * _BAR // max(1, len(state.traps))
        drawn = f"{'█' * done}{'░' * (_BAR - done)}" if room >= _BAR and state.traps else ""
        rows.append(Row(words + " " * max(1, room - _BAR + 3) + drawn if drawn else words, ("walk", route)))
    return Part("Rounds", tuple(rows))


_BAR = 18
"""Cells of a round's bar."""
