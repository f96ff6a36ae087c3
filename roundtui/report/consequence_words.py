"""What a change of the record changes, in a sentence with its figures."""

from __future__ import annotations

from roundtui.domain.consequences import NOTHING, Consequence, ConsequenceKind
from roundtui.report.numbers import figure


def consequence_words(one: Consequence) -> str:
    """A consequence as a person reads it before accepting the change.

    Args:
        one: The consequence.
    """
    where = f"{one.what}, {one.on}"
    match one.kind:
        case ConsequenceKind.STATUS:
            before, after = (
                said if mean is None else f"{said} at {figure(mean)}"
                for said, mean in ((one.before, one.mean_before), (one.after, one.mean_after))
            )
            return f"{where}: {before} becomes {after}"
        case ConsequenceKind.FIGURE:
            return f"{where}: {figure(one.mean_before)} a week becomes {figure(one.mean_after)}, still {one.after}"
        case ConsequenceKind.SUM:
            words = f"{where}: the sum that its rule looks at, {figure(one.mean_before)}, becomes"
            return f"{words} {figure(one.mean_after)}{f', still {one.after}' if one.before == one.after else ''}"
        case ConsequenceKind.TOLD if one.after != NOTHING:
            return f"{where}: the grower was told otherwise; {one.after}"
        case ConsequenceKind.CONFLICT if one.after == NOTHING:
            return f"{where}: the conflict is over, {one.before}"
    return f"{where}: {one.kind.value}, {one.before} becomes {one.after}"
