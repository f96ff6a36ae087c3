"""What of a round needs attention, as one list for everybody: the head of the summary, calls, letters and the desk."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date

from roundtui.domain.figures.figures import FEW_TRAPS
from roundtui.domain.figures.history import Beside, History
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.verdicts import Attention, AttentionKind, BlockRow, Status, Summary, Trouble, TroubleKind
from roundtui.domain.orchard_entries import Look, LookKind
from roundtui.domain.programme.farm import Programme, natural_key

SAMPLE_DAYS = 14
"""A sample over its plan is named for so many days, as it stands beside a low catch. Common practice, no source. [d]"""
_TROUBLES = {
    TroubleKind.SWAPPED_LURES: "swapped lures",
    TroubleKind.WRONG_LURE: "wrong lure",
    TroubleKind.NO_LURE: "no lure",
    TroubleKind.SCENTED_BODY: "contaminated body",
}


def attention(
    summary: Summary, programme: Programme, history: History, beside: Beside, office: Office
) -> tuple[Attention, ...]:
    """What needs attention, the most urgent kind first, then by farm and block.

    Args:
        summary: Figures and troubles of the seven days; its blocks are those looked at.
        programme: What is set up.
        history: The record up to the day.
        beside: Samples and treatments of the season.
        office: Its own sampling plans.

    Returns:
        One item for each thing that somebody has to act on or to know before acting; a block over its threshold on the
        mean of one trap is named for both.
    """
    blocks = frozenset(row.block for row in summary.blocks)
    farms = {trouble.trap: trouble.farm for trouble in summary.integrity}
    found = [
        *(one for row in summary.blocks for one in _block(row)),
        *_samples(programme, beside, office, blocks, summary.on),
        *(_trap(trouble, farms) for trouble in summary.integrity),
        *_treatments(programme, history, beside, blocks, summary.on),
    ]
    order = list(AttentionKind)
    return tuple(
        sorted(
            found,
            key=lambda one: (order.index(one.kind), natural_key(one.farm), natural_key(one.block), one.species),
        )
    )


def few_traps(row: BlockRow) -> bool:
    """Whether a mean rests on fewer than three traps although three or more hang."""
    return 0 < row.counted < FEW_TRAPS <= row.hung


def few_words(row: BlockRow) -> str:
    """On how many traps a mean rests."""
    return f"{row.counted} of {row.hung} traps"


def _block(row: BlockRow) -> Iterable[Attention]:
    kinds = {Status.OVER: AttentionKind.OVER, Status.WITHIN: AttentionKind.WITHIN}
    few = few_traps(row)
    if row.status in kinds:
        words = "over its threshold" if row.status is Status.OVER else "within its threshold"
        notes = [*([few_words(row)] if few else []), *row.headline]
        yield _of(row, kinds[row.status], "; ".join([words, *notes]))
    elif row.status is Status.CANNOT_TELL:
        yield _of(row, AttentionKind.CANNOT_TELL, "; ".join(words for words in (row.why, *row.headline) if words))
    elif row.headline:
        yield _of(row, AttentionKind.CHANGED, "; ".join([row.status.value, *row.headline]))
    if few:
        yield _of(row, AttentionKind.FEW_TRAPS, few_words(row))


def _of(row: BlockRow, kind: AttentionKind, words: str) -> Attention:
    return Attention(kind, row.farm, row.block, row.species, None, words)


def _trap(trouble: Trouble, farms: Mapping[str, str]) -> Attention:
    """A suspect trap. The words go into its grower's letter, so a trap of another farm is not named in them."""
    what = _TROUBLES[trouble.kind]
    held = f" ({trouble.found})" if trouble.found else ""
    at_home = trouble.partner is not None and farms.get(trouble.partner) == trouble.farm
    partner = f" with {trouble.partner}" if at_home else ""
    since = f" since {trouble.since.isoformat()}" if trouble.since else ""
    words = f"{trouble.trap}: {what}{held}{partner}{since}"
    return Attention(AttentionKind.SUSPECT, trouble.farm, trouble.block, trouble.species, trouble.trap, words)


def _samples(
    programme: Programme, beside: Beside, office: Office, blocks: Collection[str], on: date
) -> Iterable[Attention]:
    """The newest sample of each kind that is over its plan; one without a plan is held against the first that fits."""
    recent = [look for look in beside.looks if look.block in blocks and 0 <= (on - look.looked_on).days < SAMPLE_DAYS]
    if not recent:
        return
    # Holds the published plans, which nothing else needs on the way to the first screen.
    from roundtui.domain.sampling.findings import judged_row, look_table
    from roundtui.domain.sampling.records import Outcome

    table = look_table(office)
    newest = {(look.block, look.kind, look.pest, look.looked_at): look for look in sorted(recent, key=_in_order)}
    for look in newest.values():
        row = judged_row(look, table, programme)
        if row.verdict.outcome is Outcome.OVER:
            yield Attention(
                AttentionKind.SAMPLE, programme.farm_of(look.block), look.block, look.pest, None, _sample_words(look)
            )


def _in_order(look: Look) -> tuple[object, ...]:
    return (look.looked_on, str(look.recorded_at or ""), look.id)


def _sample_words(look: Look) -> str:
    found = "injured" if look.kind is LookKind.FRUIT else "with it"
    pest = f" ({look.pest})" if look.pest else ""
    units = look.looked_at if look.kind is LookKind.FRUIT else f"{look.looked_at} units"
    return (
        f"{look.kind.value} sample over its plan: {look.found} of {look.looked} {units} {found}{pest},"
        f" {look.looked_on.isoformat()}"
    )


def _treatments(
    programme: Programme, history: History, beside: Beside, blocks: Collection[str], on: date
) -> Iterable[Attention]:
    """The newest treatment of each block against a species after which the catch does not come down."""
    said = [one for one in beside.treatments if one.block in blocks]
    if not said:
        return
    from roundtui.domain.figures.treatments import TOLD_DAYS, Watch, WatchVerdict, treated_in

    newest: dict[tuple[str, str], Watch] = {}
    for one in treated_in(programme, history, said, on, against=beside.untreated, days=TOLD_DAYS):
        key = one.watch.block, one.watch.species
        if key not in newest or newest[key].treated_on < one.watch.treated_on:
            newest[key] = one.watch
    for seen in newest.values():
        if seen.verdict is WatchVerdict.NOT_DOWN:
            farm = programme.farm_of(seen.block)
            words = f"{seen.said} after the treatment of {seen.treated_on.isoformat()}"
            yield Attention(AttentionKind.NOT_DOWN, farm, seen.block, seen.species, None, words)


def to_call(items: Sequence[Attention]) -> tuple[Attention, ...]:
    """What a grower is called about: everything on the list about farms with something to act on.

    Args:
        items: The list.

    Returns:
        The items of those farms alone, in their order: a farm that has suspect traps or few traps only is not called.
    """
    farms = {one.farm for one in items if one.kind in _TO_ACT_ON}
    return tuple(one for one in items if one.farm in farms)


_TO_ACT_ON = (AttentionKind.OVER, AttentionKind.WITHIN, AttentionKind.SAMPLE, AttentionKind.NOT_DOWN)
