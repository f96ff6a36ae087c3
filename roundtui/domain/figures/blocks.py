"""One row of a summary: a block and species with its figures and its verdict."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import partial

from roundtui.domain.figures import figures, threshold, upkeep
from roundtui.domain.figures.certainty import Sureness
from roundtui.domain.figures.figures import BlockFigure, Series
from roundtui.domain.figures.history import History, season_start
from roundtui.domain.figures.learned import Rounds
from roundtui.domain.figures.rules import Office, Rule
from roundtui.domain.figures.verdicts import BlockRow, RuleApplied, Status
from roundtui.domain.programme.farm import Block, Lot, Programme

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
    stands = _standing(record, key, group)
    if stands is None:
        return None
    (code, species), on, block = key, record.on, stands.block
    rule, judged, figure, verdict = stands.rule, stands.judged, stands.figure, stands.verdict
    before = figures.day_before(group, figure, on)
    exposures = [reading.days or 0 for trap in figure.traps for reading in trap.readings]
    doubted = any(reading.suspect for one in judged for reading in figures.read_in(one, on))
    with_suspect = figures.block_figure(judged, on, with_suspect=True) if doubted else figure
    edge = figures.block_figure([one for one in group if one.hanging.edge], on)
    earlier = figures.block_figure(judged, before) if before else None
    sure = _sureness(record, stands, species)
    spans = sorted({sum(reading.days or 0 for reading in trap.readings) for trap in figure.traps})
    return BlockRow(
        farm=block.farm,
        block=code,
        species=species,
        hung=len({one.hanging.trap for one in stands.hung}),
        read=len({one.hanging.trap for one in stands.read}),
        counted=len(figure.traps),
        mean_per_week=figure.mean,
        max_per_week=figure.highest.per_week if figure.highest else None,
        mean_with_suspect=with_suspect.mean,
        edge_mean=edge.mean,
        previous_per_week=earlier.mean if earlier else None,
        previous_on=before if before and (on - before).days > OLD_DAYS else None,
        cumulative=figures.cumulative(judged, record.season_start, on),
        band=(rule.low, rule.high) if rule and not rule.timing_only else None,
        status=verdict.status,
        thin=len(figure.traps) < figures.FEW_TRAPS,
        rule=RuleApplied(rule.id, rule.kind.value, verdict.value, rule.source, rule.date) if rule else None,
        weak_evidence=_is_weak(record, key, group, stands),
        stage=stage.code if (stage := record.history.stages.get(code)) else None,
        why=verdict.why,
        rules=tuple(one.id for one in stands.choice.tied),
        assumed=stands.choice.assumed,
        days=(spans[0], spans[-1]) if exposures else (),
        catch=sum(reading.net or 0 for trap in figure.traps for reading in trap.readings),
        read_days=tuple(sorted(exposures)),
        sure=sure if isinstance(sure, Sureness) else None,
        not_rated=sure if isinstance(sure, str) else "",
        past_peak=_past_peak(record, key, stands),
        estimated=_estimated(
            mean_per_week=figures.estimates_behind(figure),
            max_per_week=figures.estimates_in(figure.highest.readings) if figure.highest else 0,
            mean_with_suspect=figures.estimates_behind(with_suspect),
            edge_mean=figures.estimates_behind(edge),
            previous_per_week=figures.estimates_behind(earlier) if earlier else 0,
            cumulative=figures.estimates_in(figures.summed(judged, record.season_start, on)),
        ),
    )


def _estimated(**numbers: int) -> tuple[tuple[str, int], ...]:
    return tuple((field, number) for field, number in numbers.items() if number)


def _sureness(record: Record, stands: _Standing, species: str) -> Sureness | str | None:
    if record.rounds is None or stands.rule is None or record.rounds.on != record.on:
        return None
    return record.rounds.sureness(stands.figure, stands.block, species, stands.rule, stands.verdict.status)


def _past_peak(record: Record, key: tuple[str, str], stands: _Standing) -> bool:
    if record.rounds is None or record.rounds.on != record.on:
        return False
    since = max(record.season_start, record.biofix.get(key, record.season_start))
    return record.rounds.past_peak(stands.figure, stands.judged, stands.block, key[1], since)


def block_status(record: Record, key: tuple[str, str], group: Sequence[Series]) -> Status | None:
    """Where a block stands, as ``block_row`` has it, without the figures beside that take most of its time.

    Args:
        record: As there.
        key: Block and species.
        group: Series of all the block's traps of the species.

    Returns:
        None where none of the traps hung in the window.
    """
    stands = _standing(record, key, group)
    return stands.verdict.status if stands else None


@dataclass(frozen=True)
class _Standing:
    """A block's verdict with what it was made from."""

    block: Block
    hung: Sequence[Series]
    read: Sequence[Series]
    rules: Sequence[Rule]
    choice: threshold.Choice
    judged: Sequence[Series]
    figure: BlockFigure
    verdict: threshold.Verdict

    @property
    def rule(self) -> Rule | None:
        """The rule it is judged by."""
        return self.choice.rule


def _standing(record: Record, key: tuple[str, str], group: Sequence[Series]) -> _Standing | None:
    code, species = key
    on = record.on
    block = record.programme.blocks.get(code) or Block(code, "", code, "")
    hung = [one for one in group if one.hanging.hung_a_night_in(figures.window_start(on), on)]
    if not hung:
        return None
    read = [one for one in hung if figures.read_in(one, on)]
    rules = [rule for rule in record.office.rules if rule.species == species]
    judged = {edge: [one for one in group if edge or not one.hanging.edge] for edge in (False, True)}
    plain = figures.block_figure(judged[False], on)
    of = {False: plain, True: plain if len(judged[False]) == len(group) else figures.block_figure(group, on)}
    number = len({one.hanging.trap for one in hung})
    lures = {False: _as_hung(record, plain, [one for one in hung if not one.hanging.edge]) if rules else []}
    lures[True] = lures[False] if of[True] is plain else _as_hung(record, of[True], hung)
    site = threshold.Site(
        block,
        on,
        lures,
        None if block.area_ha is None else block.area_ha / number,
    )
    choice = threshold.choose(rules, site)
    edge = choice.rule is not None and choice.rule.edge
    verdict = _verdict(record, key, choice, group=group, judged=judged[edge], figure=of[edge], read=read)
    return _Standing(block, hung, read, rules, choice, judged[edge], of[edge], verdict)


def _as_hung(record: Record, figure: BlockFigure, hung: Sequence[Series]) -> list[threshold.TrapAsHung]:
    """Style and lures of the traps in a figure; of all that hang where none has one."""
    history = record.history
    found = []
    for trap in figure.traps:
        label = trap.hanging.trap
        lots = {
            lot: None
            for reading in trap.readings
            for lot in upkeep.lots_behind(
                record.programme,
                trap.hanging,
                history.visits.get(label, ()),
                history.last_service.get(label, {}),
                reading,
            )
        }
        found.append(threshold.TrapAsHung(trap.hanging.style, _lures(lots)))
    if figure.traps:
        return found
    for one in hung:
        label, now = one.hanging.trap, record.programme.hanging(one.hanging.trap, record.on)
        # What was done to a trap since it was moved away says nothing of the lure that hung here.
        service = history.last_service.get(label, {})
        if now is not None and now != one.hanging:
            service = upkeep.newest_service(record.programme, one.hanging, history.visits.get(label, ()))
        lot = upkeep.present_lot(record.programme, one.hanging, service)
        found.append(threshold.TrapAsHung(one.hanging.style, _lures([lot])))
    return found


def _lures(lots: Iterable[Lot | None]) -> tuple[tuple[Fraction | None, str], ...]:
    return tuple((lot.load_mg, lot.kind) if lot else (None, "") for lot in lots)


def _verdict(
    record: Record,
    key: tuple[str, str],
    choice: threshold.Choice,
    *,
    group: Sequence[Series],
    judged: Sequence[Series],
    figure: BlockFigure,
    read: Sequence[Series],
) -> threshold.Verdict:
    if not read:
        return threshold.Verdict(Status.NOT_READ)
    if choice.tied:
        return threshold.Verdict(
            Status.CANNOT_TELL, why=f"the rules {' and '.join(rule.id for rule in choice.tied)} fit equally well"
        )
    rule = choice.rule
    if rule is None:
        return threshold.Verdict(Status.NO_RULE, why=choice.why)
    if not figure.traps:
        return threshold.Verdict(Status.CANNOT_TELL, why=_why_no_figure(read, record.on))
    code, species = key
    now = threshold.Circumstances(
        on=record.on,
        season_start=record.season_start,
        stages=record.history.stage_log.get(code, ()),
        biofix=_biofix(record, key),
        treatments=sorted(t.on for t in record.treatments if t.block == code and t.species == species),
        days_to_gather=partial(record.days_to_gather, code, species) if record.days_to_gather else None,
    )
    return threshold.judge(rule, judged, group, figure, now)


def _biofix(record: Record, key: tuple[str, str]) -> date | None:
    """Biofix as it could be known on the day: what was told before it is not judged by one still to come."""
    biofix = record.biofix.get(key)
    return biofix if biofix is not None and biofix <= record.on else None


def _why_no_figure(read: Sequence[Series], on: date) -> str:
    inside = [figures.read_in(one, on) for one in read]
    newest = [rows[0] for rows in inside]
    if all(reading.suspect for reading in newest):
        return "every trap that was read is suspect"
    if any(reading.conflict for rows in inside for reading in rows):
        return "two readings of one trap contradict each other"
    long = max((reading.days or 0 for reading in newest if reading.long), default=0)
    if long:
        return f"a reading over {long} days has no weekly rate"
    return "every trap that was read is suspect"


def _is_weak(record: Record, key: tuple[str, str], group: Sequence[Series], stands: _Standing) -> bool:
    """Whether a low catch says little, because the block is under mating disruption.

    Without a rule for disrupted blocks the usual rule is asked as if it held, in its own unit: a sum since hanging is
    not held against a week's mean.
    """
    if not stands.block.disrupted or stands.figure.mean is None:
        return False
    if stands.verdict.status is not Status.NO_RULE:
        return stands.verdict.status is Status.BELOW
    usual = threshold.undisrupted(stands.rules, record.on)
    if usual is None:
        return stands.figure.mean == 0
    judged = [one for one in group if usual.edge or not one.hanging.edge]
    figure, read = figures.block_figure(judged, record.on), stands.read
    verdict = _verdict(record, key, threshold.Choice(usual), group=group, judged=judged, figure=figure, read=read)
    return verdict.status is Status.BELOW
