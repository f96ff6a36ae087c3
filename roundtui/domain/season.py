"""The season of one block and species: the biofix of every generation, and the outlook from the newest one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from roundtui.domain.biofix import BiofixProposal, TrapReading, propose
from roundtui.domain.biofix_rules import BiofixRule, rule_for
from roundtui.domain.model_records import SpeciesModel
from roundtui.domain.outlook import COVERAGE, Outlook, StandIn, outlook
from roundtui.domain.weather.evenings import Sunsets
from roundtui.domain.weather.station_years import StationYears

MOST_GENERATIONS = 9
"""More generations than any species here has in a year."""


@dataclass(frozen=True, slots=True)
class Biofix:
    """The biofix of one generation: what a rule proposes, and what the coordinator settled."""

    generation: int
    """Generation of the season, counted from 1."""
    proposal: BiofixProposal | None
    """What the rule finds; None where nobody has a rule."""
    confirmed: date | None = None
    """Day the coordinator confirmed or set; None while open."""

    @property
    def on(self) -> date | None:
        """The day to reckon from: the confirmed one, else the proposed one."""
        return self.confirmed or (self.proposal.on if self.proposal else None)


def season_biofixes(
    rules: Sequence[BiofixRule],
    species: str,
    readings: Iterable[TrapReading],
    *,
    on: date,
    station: StationYears | None = None,
    confirmed: Mapping[int, date] | None = None,
    sunsets: Sunsets | None = None,
) -> tuple[Biofix, ...]:
    """The biofix of every generation that has begun, or whose moths are being waited for.

    Args:
        rules: Rules in order of rank: the office's, then those that ship.
        species: Abbreviation of the species.
        readings: Readings of the block's traps of the species in this season.
        on: Day from which one looks; later readings are not used.
        station: The station's days, counted as the species' model counts; without it no later generation is waited for.
        confirmed: Days the coordinator settled, by generation.
        sunsets: Temperatures at sunset, for a rule that asks for them.

    Returns:
        The first generation, and each later one once the degree-days between two flights have gathered.
    """
    settled = confirmed or {}
    known = [reading for reading in readings if reading.end <= on]
    found: list[Biofix] = []
    for generation in range(1, MOST_GENERATIONS + 1):
        rule = rule_for(rules, species, generation)
        before = found[-1].on if found else None
        waits_until = _next_flight(rule, station, before, on) if generation > 1 and rule and before else None
        proposal = None
        if rule is not None and (generation == 1 or waits_until is not None):
            proposal = propose(rule, known, generation=generation, not_before=waits_until, sunsets=sunsets)
        if generation > 1 and proposal is None and generation not in settled:
            break
        found.append(Biofix(generation, proposal, settled.get(generation)))
    return tuple(found)


def _next_flight(rule: BiofixRule, station: StationYears | None, before: date, on: date) -> date | None:
    """First day whose readings belong to the next flight; None while that day is still to come, or nobody can tell."""
    if rule.after_degree_days is None:
        return before + timedelta(days=1)
    if station is None:
        return None
    return station.reach(before, float(rule.after_degree_days), on).on


def season_outlook(
    model: SpeciesModel,
    station: StationYears,
    biofixes: Sequence[Biofix] = (),
    *,
    on: date,
    stand_in: StandIn | None = None,
    season_begins: date | None = None,
    season_ends: date | None = None,
    normal: StationYears | None = None,
    coverage: float = COVERAGE,
) -> tuple[Outlook, ...]:
    """Look ahead from every biofix, each event from the newest biofix that tells of it.

    Args:
        model: The species' model.
        station: The station's days, counted as the model counts.
        biofixes: The generations' biofixes, as ``season_biofixes`` gives them.
        on: Day from which one looks.
        stand_in: What to go by as long as no biofix is set.
        season_begins: First day of the season; None: 1 January.
        season_ends: Last day looked at; None: 31 December.
        normal: Normal temperatures, for a station with fewer than two past years.
        coverage: How often the range is to hold.

    Returns:
        An outlook for each biofix that has a day, in order; one without a biofix where none has.
    """
    dated: list[tuple[int, date | None]] = [
        (each.generation, each.on) for each in biofixes if each.on is not None and each.on <= on
    ]
    dated = dated or [(1, None)]
    found = []
    for at, (generation, day) in enumerate(dated):
        view = outlook(
            model,
            station,
            on=on,
            biofix=day,
            stand_in=stand_in,
            generation=generation,
            season_begins=season_begins,
            season_ends=season_ends,
            normal=normal,
            coverage=coverage,
        )
        following = dated[at + 1][0] if at + 1 < len(dated) else MOST_GENERATIONS + 1
        found.append(replace(view, events=tuple(each for each in view.events if each.generation < following)))
    return tuple(found)
