"""Treatments that growers spoke of: what cannot be, which are one, and each with its watch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from roundtui.domain import integrity
from roundtui.domain.checks import nearest, species_known
from roundtui.domain.farm import Programme, natural_key
from roundtui.domain.figures import Series, by_block, series
from roundtui.domain.history import History
from roundtui.domain.orchard_entries import TreatmentSaid
from roundtui.domain.plain import plain
from roundtui.domain.species import SPECIES, species_code
from roundtui.domain.watch import MOST_DAYS, Watch, watch
from roundtui.errors import Problem

TOLD_DAYS = MOST_DAYS + 14
"""How long a treatment stands in summaries and letters: its watch, and two rounds more. Common practice. [d]"""
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Treated:
    """A treatment, said once or by several, with its watch."""

    said: tuple[TreatmentSaid, ...]
    """Entries that say so, in the order of recording."""
    watch: Watch
    """The catch before and after."""

    @property
    def words(self) -> str:
        """What it was called, each word once."""
        return "; ".join(dict.fromkeys(one.words for one in self.said if one.words))

    @property
    def said_by(self) -> str:
        """Who said so."""
        return ", ".join(dict.fromkeys(one.said_by for one in self.said if one.said_by))


def check_treatment(entry: TreatmentSaid, programme: Programme) -> tuple[Problem, ...]:
    """What makes a treatment impossible.

    Args:
        entry: What a grower said.
        programme: What is set up.

    Returns:
        The problems; none for one that can be recorded. A block without a trap of the species can be treated too.
    """
    found = []
    if entry.block not in programme.blocks:
        hint = nearest(entry.block, programme.blocks) or "the codes are in blocks.csv"
        found.append(Problem("block", f"there is no block {plain(entry.block, _SHOWN)}", hint))
    if entry.species not in species_known(programme):
        meant = species_code(entry.species)
        hint = f"write {meant}" if meant else f"one of {', '.join(SPECIES)}"
        found.append(Problem("species", f"{plain(entry.species, _SHOWN)!r} is no species known here", hint))
    return tuple(found)


def treated(
    said: Sequence[TreatmentSaid],
    grouped: Mapping[tuple[str, str], Sequence[Series]],
    history: History,
    on: date,
) -> tuple[Treated, ...]:
    """Treatments with their watches.

    Args:
        said: Present entries up to the day.
        grouped: Series of traps by block and species.
        history: The record up to the day.
        on: Day from which to look.

    Returns:
        Each block, species and day once, by block and species, the newest first.
    """
    entries: dict[tuple[str, str, date], list[TreatmentSaid]] = {}
    for one in said:
        if one.treated_on <= on:
            entries.setdefault((one.block, one.species, one.treated_on), []).append(one)
    days: dict[tuple[str, str], list[date]] = {}
    for block, species, day in entries:
        days.setdefault((block, species), []).append(day)
    found = [
        Treated(
            tuple(same),
            watch(key[:2], key[2], grouped.get(key[:2], ()), history.visits, on=on, treated=days[key[:2]]),
        )
        for key, same in entries.items()
    ]
    return tuple(sorted(found, key=_place))


def treated_in(
    programme: Programme, history: History, said: Iterable[TreatmentSaid], on: date, *, days: int | None = None
) -> tuple[Treated, ...]:
    """The same from the record, of the traps alone that hang where something was treated.

    Args:
        programme: What is set up.
        history: The record up to the day.
        said: Present entries.
        on: Day from which to look.
        days: Only treatments of so many days back; None: all. The others still end and colour their neighbours. [d]
    """
    entries = [one for one in said if one.treated_on <= on]
    keys = {(one.block, one.species) for one in entries if days is None or within(one.treated_on, on, days)}
    if not keys:
        return ()
    found = integrity.examine(programme, history.scent, on, history.assembled, history.bodies)
    every = {
        trap: series(hangings, history.visits.get(trap, ()), found)
        for trap, hangings in programme.hangings.items()
        if any((row.block, row.species) in keys for row in hangings)
    }
    made = treated([one for one in entries if (one.block, one.species) in keys], by_block(every), history, on)
    return tuple(one for one in made if days is None or within(one.watch.treated_on, on, days))


def within(treated_on: date, on: date, days: int = TOLD_DAYS) -> bool:
    """Whether a treatment is still told of.

    Args:
        treated_on: Its day.
        on: Day from which to look.
        days: For how long. [d]
    """
    return on - timedelta(days=days) <= treated_on <= on


def _place(one: Treated) -> tuple[object, ...]:
    seen = one.watch
    return natural_key(seen.block), seen.species, -seen.treated_on.toordinal()
