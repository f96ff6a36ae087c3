"""One row of a summary: a block and species with its figures and its verdict."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import partial
from typing import NamedTuple

from roundtui.domain.entries import Visit
from roundtui.domain.figures import figures, threshold, upkeep
from roundtui.domain.figures.certainty import Sureness
from roundtui.domain.figures.figures import BlockFigure, Reading, Series, TrapFigure
from roundtui.domain.figures.history import History, newest_service, season_start
from roundtui.domain.figures.learned import Rounds
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.verdicts import TWO_COUNTS, BlockRow, Caught, RuleApplied, Status
from roundtui.domain.programme.farm import Block, Lot, Programme, Trap

DaysToGather = Callable[[str, str, date, Fraction], date | None]
"""From block, species, a day and degree-days to the day by which they were accumulated; None where they were not."""


OLD_DAYS = 14
"""A previous figure older than this is shown with its day. [d]"""


@dataclass(frozen=True)
class Record:
    """Everything that the parts of one summary share."""

    programme: Programme
    history: History
    office: Office
    on: date
    biofix: Mapping[tuple[str, str], date]
    treatments: Sequence[threshold.Treatment]
    days_to_gather: DaysToGather | None = None
    """Day by which so many degree-days were accumulated in a block, counted as the species' model counts."""
    rounds: Rounds | None = None
    """What the rounds of the programme teach, for how sure a status is; None: nothing is said of it."""

    @property
    def season_start(self) -> date:
        """First day of the season."""
        return season_start(self.on, self.office.season_starts_on)


def block_row(record: Record, key: tuple[str, str], group: Sequence[Series]) -> BlockRow | None:
    """One row of a summary.

    Args:
        record: What the summary is made from; its ``on`` may be earlier than the day up to which it reaches.
        key: Block and species.
        group: Series of all the block's traps of the species.

    Returns:
        None where none of the traps hung in the window.
    """
    standings = Standings(record, key, group)
    stands = standings.on(record.on)
    if stands is None:
        return None
    (code, species), on, block = key, record.on, standings.block
    rule, judged, figure, verdict = stands.choice.rule, stands.judged, stands.figure, stands.verdict
    before = figures.day_before(group, figure, on)
    sound = all(one.sound for one in group)
    with_suspect = figure if sound else figures.block_figure(judged, on, with_suspect=True)
    edge = figures.block_figure([one for one in group if one.hanging.edge], on)
    earlier = figures.block_figure(judged, before) if before else None
    rounds = record.rounds if record.rounds is not None and record.rounds.on == on else None
    sure = rounds.sureness(figure, block, species, rule, verdict.status) if rounds and rule else None
    since = max(record.season_start, record.biofix.get(key, record.season_start))
    exposures, estimates = figures.exposures_in(judged, record.season_start, on), dict[str, int]()
    if not sound:
        behind = {
            "mean_per_week": figure.traps,
            "max_per_week": [figure.highest] if figure.highest else [],
            "mean_with_suspect": with_suspect.traps,
            "edge_mean": edge.traps,
            "previous_per_week": earlier.traps if earlier else [],
        }
        estimates = {name: figures.estimates_in(r for one in of for r in one.readings) for name, of in behind.items()}
        estimates["cumulative"] = figures.estimates_in(
            r for one in judged for r in figures.summed(one, record.season_start, on)
        )
    # Nearly always the traps that were read this week are those of the season.
    same = not estimates.get("cumulative") and sum(1 for one in judged if one.readings) == len(figure.traps)
    return BlockRow(
        farm=block.farm,
        block=code,
        species=species,
        hung=len({one.hanging.trap for one in stands.hung}),
        read=len({one.hanging.trap for one in stands.hung if figures.read_in(one, on)}),
        counted=len(figure.traps),
        mean_per_week=figure.mean,
        max_per_week=figure.highest.per_week if figure.highest else None,
        mean_with_suspect=with_suspect.mean,
        edge_mean=edge.mean,
        previous_per_week=earlier.mean if earlier else None,
        previous_on=before if before and (on - before).days > OLD_DAYS else None,
        cumulative=figures.spread_over(exposures, record.season_start, on),
        band=(rule.low, rule.high) if rule and not rule.timing_only else None,
        status=verdict.status,
        thin=len(figure.traps) < figures.FEW_TRAPS,
        rule=RuleApplied(rule.id, rule.kind.value, verdict.value, rule.source, rule.date) if rule else None,
        weak_evidence=standings.is_weak(on, stands),
        stage=stage.code if (stage := record.history.stages.get(code)) else None,
        why=verdict.why,
        rules=tuple(one.id for one in stands.choice.tied),
        assumed=stands.choice.assumed,
        traps=tuple(
            Caught(one.hanging.trap, one.moths, one.days, tuple(reading.days or 0 for reading in one.readings))
            for one in figure.traps
        ),
        sure=sure if isinstance(sure, Sureness) else None,
        not_rated=sure if isinstance(sure, str) else "",
        past_peak=rounds.past_peak(figure, judged, block, since, exposures if same else None) if rounds else False,
        estimated=tuple((name, number) for name, number in estimates.items() if number),
    )


def block_status(record: Record, key: tuple[str, str], group: Sequence[Series]) -> Status | None:
    """Where a block stands, as ``block_row`` has it, without the figures beside that take most of its time.

    Args:
        record: As there.
        key: Block and species.
        group: Series of all the block's traps of the species.

    Returns:
        None where none of the traps hung in the window.
    """
    stands = Standings(record, key, group).on(record.on)
    return stands.verdict.status if stands else None


class Standing(NamedTuple):
    """A block's verdict on a day with what it was made from."""

    hung: Sequence[Series]
    choice: threshold.Choice
    judged: Sequence[Series]
    figure: BlockFigure
    verdict: threshold.Verdict


class Standings:
    """Where a block and species stands on days of one season; what the days share is worked out once.

    Args:
        record: What a summary is made from; its ``on`` lies in the season.
        key: Block and species.
        group: Series of all the block's traps of the species.
        service: From a trap and a day to the visits that put lures in last by then, in place of ``last_service``.
    """

    def __init__(
        self,
        record: Record,
        key: tuple[str, str],
        group: Sequence[Series],
        service: Callable[[str, date], Mapping[str, Visit]] | None = None,
    ) -> None:
        code, species = key
        self.key = key
        self.block = record.programme.blocks.get(code) or Block(code, "", code, "")
        self._record, self._group, self._service = record, group, service
        self._inside = [one for one in group if not one.hanging.edge]
        self._rules = [rule for rule in record.office.rules if rule.species == species]
        self._held: dict[int, list[upkeep.Held]] = {}
        self._as_hung: dict[tuple[object, ...], threshold.TrapAsHung] = {}
        self._chosen: dict[tuple[object, ...], threshold.Choice] = {}

    def on(self, on: date) -> Standing | None:
        """Where it stands on a day.

        Args:
            on: The day.

        Returns:
            None where none of the traps hung in the window.
        """
        first, group, inside = figures.window_start(on), self._group, self._inside
        hung = [one for one in group if one.hanging.hung_a_night_in(first, on)]
        if not hung:
            return None
        plain = figures.block_figure(inside, on)
        every = plain if len(inside) == len(group) else figures.block_figure(group, on)
        choice = self._choose(on, hung, plain, every)
        edge = choice.rule is not None and choice.rule.edge
        judged, figure = (group, every) if edge else (inside, plain)
        return Standing(hung, choice, judged, figure, self._verdict(on, choice, judged, figure, hung))

    def _choose(self, on: date, hung: Sequence[Series], plain: BlockFigure, every: BlockFigure) -> threshold.Choice:
        number = len({one.hanging.trap for one in hung})
        inside = [one for one in hung if not one.hanging.edge] if not plain.traps else hung
        lures = {False: self._lures(plain, inside, on) if self._rules else []}
        lures[True] = lures[False] if every is plain else self._lures(every, hung, on)
        # A rule asks for nothing else of a day than its month. The values of ``_as_hung`` are each there once.
        asked = (on.month, number, *map(id, lures[False]), 0, *map(id, lures[True]))
        found = self._chosen.get(asked)
        if found is None:
            area = self.block.area_ha
            site = threshold.Site(self.block, on, lures, None if area is None else area / number)
            found = self._chosen[asked] = threshold.choose(self._rules, site)
        return found

    def _lures(self, figure: BlockFigure, hung: Sequence[Series], on: date) -> list[threshold.TrapAsHung]:
        """Style and lures of the traps in a figure; of all that hang where none has one."""
        if figure.traps:
            return [self._hung_as(trap.hanging, self._lots_behind(trap, on)) for trap in figure.traps]
        programme, hangings = self._record.programme, [one.hanging for one in hung]
        return [self._hung_as(at, [upkeep.present_lot(programme, at, self._serviced(at, on))]) for at in hangings]

    def _hung_as(self, hanging: Trap, lots: Sequence[Lot | None]) -> threshold.TrapAsHung:
        known = (hanging.style, *map(id, lots))
        found = self._as_hung.get(known)
        if found is None:
            lures = tuple((lot.load_mg, lot.kind) if lot else (None, "") for lot in lots)
            found = self._as_hung[known] = threshold.TrapAsHung(hanging.style, lures)
        return found

    def _lots_behind(self, trap: TrapFigure, on: date) -> Sequence[Lot | None]:
        hanging, record = trap.hanging, self._record
        held = self._held.get(id(hanging))
        if held is None:
            visits, service = record.history.visits.get(hanging.trap, ()), self._serviced(hanging, on)
            held = self._held[id(hanging)] = upkeep.lures_held(record.programme, hanging, visits, service)
        return list(dict.fromkeys(lot for reading in trap.readings for lot in upkeep.lots_behind(held, reading)))

    def _serviced(self, hanging: Trap, on: date) -> Mapping[str, Visit]:
        trap, record = hanging.trap, self._record
        now = record.programme.hanging(trap, on)
        if now is not None and now != hanging:
            # What was done to a trap since it was moved away says nothing of the lure that hung here.
            return newest_service(record.programme, hanging, record.history.visits.get(trap, ()))
        return self._service(trap, on) if self._service else record.history.last_service.get(trap, {})

    def _verdict(
        self, on: date, choice: threshold.Choice, judged: Sequence[Series], figure: BlockFigure, hung: Sequence[Series]
    ) -> threshold.Verdict:
        # A trap with a figure was read.
        read = [] if figure.traps else [rows for one in hung if (rows := figures.read_in(one, on))]
        if not read and not figure.traps:
            return threshold.Verdict(Status.NOT_READ, why=choice.why and f"no threshold: {choice.why}")
        if choice.tied:
            return threshold.Verdict(
                Status.CANNOT_TELL, why=f"the rules {' and '.join(rule.name for rule in choice.tied)} fit equally well"
            )
        if choice.rule is None:
            return threshold.Verdict(Status.NO_RULE, why=choice.why)
        if read:
            return threshold.Verdict(Status.CANNOT_TELL, why=_why_no_figure(read))
        return threshold.judge(choice.rule, judged, self._group, figure, on=on, circumstances=self._circumstances)

    def _circumstances(self, on: date) -> threshold.Circumstances:
        record, key = self._record, self.key
        biofix = record.biofix.get(key)
        return threshold.Circumstances(
            on=on,
            season_start=record.season_start,
            stages=record.history.stage_log.get(key[0], ()),
            # What was told before it is not judged by one still to come.
            biofix=biofix if biofix is not None and biofix <= on else None,
            treatments=sorted(t.on for t in record.treatments if (t.block, t.species) == key),
            days_to_gather=partial(record.days_to_gather, *key) if record.days_to_gather else None,
        )

    def is_weak(self, on: date, stands: Standing) -> bool:
        """Whether a low catch says little, because the block is under mating disruption.

        Without a rule for disrupted blocks the usual rule is asked as if it held, in its own unit: a sum since hanging
        is not held against a week's mean.

        Args:
            on: The day.
            stands: Where the block stands on it.
        """
        if not self.block.disrupted or stands.figure.mean is None:
            return False
        if stands.verdict.status is not Status.NO_RULE:
            return stands.verdict.status is Status.BELOW
        usual = threshold.undisrupted(self._rules, on)
        if usual is None:
            return stands.figure.mean == 0
        judged = self._group if usual.edge else self._inside
        verdict = self._verdict(on, threshold.Choice(usual), judged, figures.block_figure(judged, on), stands.hung)
        return verdict.status is Status.BELOW


def _why_no_figure(read: Sequence[Sequence[Reading]]) -> str:
    newest = [rows[0] for rows in read]
    if all(reading.suspect for reading in newest):
        return "every trap that was read is suspect"
    if any(reading.conflict for rows in read for reading in rows):
        return f"{TWO_COUNTS} of one trap on one day"
    long = max((reading.days or 0 for reading in newest if reading.long), default=0)
    if long:
        return f"a reading over {long} days has no weekly rate"
    return "no reading has a rate: its catch or its days are not known"
