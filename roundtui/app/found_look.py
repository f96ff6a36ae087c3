"""What a lure that was found changes, worked out while the entry is keyed; nothing is read until a lure is found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roundtui.errors import RoundtuiError
from roundtui.report.found_words import found_mark, found_words
from roundtui.store.found_lures import found_lure

if TYPE_CHECKING:
    from roundtui.app.session import Session
    from roundtui.domain.found_lures import FoundChange, FoundLure
    from roundtui.domain.visits import Visit

UNKNOWN = "what this changes cannot be told now: the summary will"
"""Said where the record cannot be looked at; the entry goes on all the same."""


class FoundLook:
    """Looks at the lures found in a round. The record is looked at once for each find, and for no other entry.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self._key: tuple[object, ...] = ()
        self._lure: FoundLure | None = None

    def words(self, visit: Visit) -> str:
        """What an entry that found a lure would change, for the line under the field.

        Args:
            visit: The entry as it would be recorded.
        """
        change = self._change(visit)
        return found_words(change) if change is not None else UNKNOWN

    def mark(self, visit: Visit) -> str:
        """The same in the few words that the next prompt has room for; empty where it changes nothing."""
        change = self._change(visit)
        return found_mark(change) if change is not None else UNKNOWN

    def _change(self, visit: Visit) -> FoundChange | None:
        session = self.session
        # Count, reason and other flags may change with every key; what was found, put in and hung is looked at once.
        key = (session.changes, visit.trap, visit.read_on, visit.lure_found, visit.lure, visit.body, visit.replaces)
        try:
            if self._lure is None or key != self._key:
                self._lure = found_lure(
                    session.conn,
                    session.programme,
                    session.history,
                    session.office,
                    on=session.on,
                    visit=visit,
                    visits=session.present_visits,
                )
                self._key = key
            return self._lure.change(visit)
        except RoundtuiError:
            return None
