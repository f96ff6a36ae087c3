"""What has to be done about a lot of lures, in words; for the desk and the summary."""

from __future__ import annotations

from roundtui.domain.plain import plain
from roundtui.domain.plan.lure_needs import LotState, LotStock
from roundtui.report.numbers import several


def lot_words(lot: LotStock) -> str:
    """What has to be done about a lot, in one sentence.

    Args:
        lot: A lot that is warned about.
    """
    name = f"Lot {plain(lot.lot, 24)} ({plain(lot.species, 5)})"
    left = lot.held.left
    if lot.state is LotState.SHORT and lot.runs_out_on is not None:
        more = f", {lot.needed} in the season" if lot.needed > lot.needed_next else ""
        wanted = f"{left} left, {lot.needed_next} wanted in four weeks{more}"
        return f"{name} runs out on {lot.runs_out_on.isoformat()}: {wanted}"
    if lot.state is LotState.AGAIN:
        return f"{name}: {-(left or 0)} more put out than there were; count it again"
    when = lot.expires_on.isoformat() if lot.expires_on else "a day not on record"
    there = "not counted" if left is None else f"{left} left"
    word = "expired on" if lot.state is LotState.EXPIRED else "expires on"
    return f"{name} {word} {when}: {there}, {several(len(lot.traps), 'trap')} would want it"
