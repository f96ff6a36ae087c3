"""What a round's keys open beside the count: what else was in the trap, an estimate, a treatment told of."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from roundtui.domain.plain import plain

if TYPE_CHECKING:
    from textual.screen import Screen

    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session
    from roundtui.domain.keying import Keying
    from roundtui.domain.rounds import RoundState


def open_specimen(
    screen: Screen[None], session: Session, state: RoundState, now: Keying, done: Callable[[str | None], None]
) -> None:
    """Ask what else was in the trap that is shown.

    Args:
        screen: The round.
        session: Who, where and when.
        state: How far the round has come.
        now: The entry under way.
        done: Told what is on record now, in a few words, or None where nothing was recorded.
    """
    from roundtui.app.dialogs.specimen import SpecimenDialog
    from roundtui.app.specimen_desk import SpecimenDesk

    trap = now.draft.trap
    standing = now.asked.old or now.asked.standing or state.done.get(trap)
    typed = int(now.text) if now.text else None
    day = standing.read_on if standing is not None else now.draft.read_on
    dialog = SpecimenDialog(SpecimenDesk(session), trap, day, typed)
    cast("RoundtuiApp", screen.app).push_screen(dialog, done)


def open_treatment(
    screen: Screen[None], session: Session, trap: str | None, done: Callable[[str | None], None]
) -> None:
    """Ask for a treatment of this block that the grower spoke of.

    Args:
        screen: The round.
        session: Who, where and when.
        trap: The trap whose block it is; None: block and species are typed.
        done: Told what is on record now, in a few words, or None where nothing was recorded.
    """
    from roundtui.app.dialogs.treatment import TreatmentDialog

    hanging = session.hanging(trap) if trap is not None else None
    block, species = (hanging.block, hanging.species) if hanging is not None else ("", "")
    cast("RoundtuiApp", screen.app).push_screen(TreatmentDialog(session, block, species), done)


def open_grid(
    screen: Screen[None], session: Session, now: Keying, done: Callable[[tuple[int, str] | None], None]
) -> None:
    """Ask for the squares of a grid.

    Args:
        screen: The round.
        session: Who, where and when.
        now: The entry under way.
        done: Told the count and the note about it, or None.
    """
    from roundtui.app.dialogs.grid import GridDialog

    cast("RoundtuiApp", screen.app).push_screen(GridDialog(session, plain(now.draft.trap, 20)), done)
