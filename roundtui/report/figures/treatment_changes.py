"""What a treatment entered, corrected or taken back changes: verdicts, sums, what was told, letters, watches."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.figures.summary import Consequence
from roundtui.domain.figures.treatments import Treated
from roundtui.domain.orchard_entries import TreatmentSaid
from roundtui.domain.text import plain
from roundtui.report.figures.changes import consequence_words
from roundtui.report.figures.treatments import catch_words
from roundtui.report.letters.files import letters_outdated, outdated_words
from roundtui.store.figures.treatments import days_touched, read_treated
from roundtui.store.round.effects import effects, preview

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office


@dataclass(frozen=True, slots=True)
class TreatmentChanges:
    """What is different with a change of a treatment."""

    found: tuple[Consequence, ...]
    """Statuses, sums and what growers were told, on every day since on which the block was read."""
    letters: tuple[tuple[str, bool], ...]
    """Letters already written that do not hold any more, a sentence each, and whether they held until now."""
    watches: tuple[str, ...]
    """Watches after the block's treatments as they will stand, a sentence each."""

    @property
    def needs_a_word(self) -> bool:
        """Whether it changes what people act on, so that it is said before it is accepted."""
        return any(held for _, held in self.letters) or any(one.needs_a_word for one in self.found)

    def lines(self) -> tuple[tuple[str, bool], ...]:
        """Sentences, and whether each is to be said before the change is accepted; those first."""
        said = [(consequence_words(one), one.needs_a_word) for one in self.found]
        said += self.letters
        said += [(words, False) for words in self.watches]
        return tuple(sorted(said, key=lambda pair: not pair[1]))


def treatment_changes(
    conn: sqlite3.Connection,
    folder: Path,
    office: Office,
    change: Callable[[], object],
    *,
    about: tuple[TreatmentSaid, ...],
    on: date,
) -> TreatmentChanges:
    """Try a change of a treatment out, and say what it changes; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder.
        office: Its rules and season.
        change: Writes through ``conn``: records, corrects or takes back.
        about: The treatment as it will be said, and as it was said before where it is corrected or taken back.
        on: Last day that is looked at.

    Raises:
        RefusedError: The change would be refused.
        RoundtuiError: A file of the office cannot be used.
        StoreError: The store cannot be written.
    """
    days = {day for one in about for day in days_touched(conn, office, one, on)}
    found = effects(conn, folder, office, change, days=days) if days else ()
    blocks = {one.block for one in about}
    keys = {(one.block, one.species) for one in about}
    since = min(one.treated_on for one in about)
    (_, farms), (after, _) = preview(conn, change, lambda: read_treated(conn, office, on, blocks=blocks))
    letters = letters_outdated(conn, folder, office, change, farms=farms, since=since, on=on)
    return TreatmentChanges(
        _once_each(found),
        tuple(zip(outdated_words(conn, letters), (held for _, held in letters), strict=True)),
        tuple(_watch(one) for one in after if (one.watch.block, one.watch.species) in keys),
    )


def _once_each(found: tuple[Consequence, ...]) -> tuple[Consequence, ...]:
    """Consequences without those that are the same on several days: a day later than the first says nothing new."""
    told = {
        (one.kind, one.what, one.before, one.after, one.mean_before, one.mean_after): one for one in reversed(found)
    }
    return tuple(one for one in found if one in told.values())


def _watch(one: Treated) -> str:
    seen = one.watch
    return f"{plain(seen.block, 20)} {plain(seen.species, 12)}, treated {seen.treated_on}: {catch_words(seen)}"
