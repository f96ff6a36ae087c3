"""Specimens in words, as a table and as JSON: what waits for a name, and what a name did to a count.

Specimens in the app: those that wait for a name, noting one at the trap, and naming it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path
from sqlite3 import Connection
from typing import Any

from roundtui.domain.entries import Specimen
from roundtui.domain.figures.figures import window_start
from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import Consequence
from roundtui.domain.programme.farm import Programme, grouped
from roundtui.domain.records import Frozen
from roundtui.domain.round import specimens
from roundtui.domain.round.specimens import Identification, block_of, how_many, is_open, taken_off
from roundtui.domain.text import listed, sanitize
from roundtui.domain.traps.finds import NoCatch, Watched
from roundtui.errors import RefusedError
from roundtui.report.text import Names, Section, as_name, as_note, day, json_of, tabled, titled
from roundtui.store.figures.summary import DaySummary
from roundtui.store.round import recounts
from roundtui.store.round.changes import tried_out
from roundtui.store.session import Session


def vials_json(found: Iterable[Specimen], programme: Programme) -> list[dict[str, Any]]:
    """Specimens as JSON.

    Args:
        found: The specimens.
        programme: For block and species of each trap.
    """
    return [
        {
            "id": one.id,
            "vial": one.vial,
            "block": block_of(one, programme),
            "trap": one.trap,
            "species": specimens.species_of(one, programme),
            **json_of(one, "read_on what number in_count"),
            "open": is_open(one),
            "own": specimens.is_own(one, programme) if specimens.is_named(one) else None,
            "taken_off": taken_off(one, programme),
            **json_of(one, "identified_on identified_by sent_to sent_on confirmed_by kept_at scout note"),
        }
        for one in found
    ]


def vials_table(found: Sequence[Specimen], programme: Programme, width: int) -> Section:
    """Specimens as a table.

    Args:
        found: The specimens.
        programme: For block and species of each trap.
        width: Columns to fill.
    """
    said = []
    for one in found:
        cells = (
            sanitize(one.vial, 20) or "-",
            sanitize(one.trap, 20),
            sanitize(specimens.species_of(one, programme), 12),
            one.read_on.isoformat(),
            str(one.number),
            "counted" if one.in_count else "left out",
            f"{as_name(one.what)}, {_standing(one)}",
        )
        said.append(("", cells))
    return tabled("Vial 8|Trap 8|Pest 5|Found 10|Many 4|Counted 8|What", width, said)


def finds_json(found: Iterable[Watched]) -> list[dict[str, Any]]:
    """Species that are watched for, as JSON.

    Args:
        found: Where each stands.
    """
    rule = "species=rule.species finds=rule.finds within_m=rule.within_m days=rule.days source=rule.source"
    return [
        json_of(one, f"{rule} met why zones act_by clear_on not_read")
        | {
            "near": [
                json_of(trap, "trap block") | json_of(reading, "on=read_on number=net") | {"metres": away}
                for trap, reading, away in one.finds
            ]
        }
        for one in found
    ]


def finds_words(found: Sequence[Watched], on: date) -> list[str]:
    """Species that are watched for, in lines.

    Args:
        found: Where each stands.
        on: The day.
    """
    lines = [] if found else ["plan.toml watches for nothing: [[find]] writes down what makes an outbreak."]
    for one in found:
        rule, said = one.rule, {True: "met", False: "not met", None: f"cannot tell ({as_note(one.why)})"}
        asked = f"{rule.species}, {rule.finds} within {rule.within_m:g} m in {rule.days} days"
        lines.append(f"{asked}: {said[one.met]}. {as_note(rule.source)}")
        for trap, reading, away in one.finds:
            way = f", {away} m from the last" if (trap, reading) != one.finds[0][:2] else ""
            lines.append(f"  {_labels([trap.trap])} [{_labels([trap.block])}], {reading.read_on}: {reading.net}{way}")
        for metres, traps, blocks in one.zones:
            lines.append(f"  within {metres} m of a find: traps {_labels(traps)}; blocks {_labels(blocks)}")
        lines += [f"  the rule gives until {one.act_by:%Y-%m-%d %H:%M} UTC"] if one.act_by else []
        held = f"; not read since: {_labels(one.not_read)}" if one.clear_on and on >= one.clear_on else ""
        lines += [f"  the wait since the last find ends on {one.clear_on}{held}"] if one.clear_on else []
    return lines


def _labels(labels: Iterable[str]) -> str:
    return listed(sanitize(one, 20) for one in labels) or "none"


def no_catch_words(found: NoCatch, about: str, span: tuple[date, date]) -> list[str]:
    """What was caught near a block, in lines; never more than the traps can say.

    Args:
        found: What was found.
        about: Which species within how far of which block, in words.
        span: First and last day.
    """
    told = found.readings and not found.not_settled
    caught = f"{found.caught} caught" if found.caught else "no catch" if told else "nobody can say"
    return [
        f"{as_note(about)}, {span[0]} to {span[1]}: {caught}.",
        f"Traps: {_labels(found.traps)}. Valid readings: {found.readings}. "
        f"Trap-nights: {found.nights} covered, {found.open_nights} not.",
        *([f"Not settled: the catch of {_labels(found.not_settled)}."] if found.not_settled else []),
        *([f"Nobody can say how far: {_labels(found.placeless)}."] if found.placeless else []),
    ]


def _standing(one: Specimen) -> str:
    named = f"named {one.identified_on} by {as_name(one.identified_by)}"
    said = named if specimens.is_named(one) else "not identified yet" if is_open(one) else "noted at the trap"
    way = {f"sent {one.sent_on or ''} to": one.sent_to, "confirmed by": one.confirmed_by, "kept at": one.kept_at}
    return ", ".join((said, *(f"{what} {as_name(words)}" for what, words in way.items() if words)))


def specimen_section(asked: DaySummary) -> Section:
    """What else was in the traps in the window: what waits for a name, counts corrected by one, and the rest by kind.

    Args:
        asked: What it is made from.

    Returns:
        A title and a sentence for each; empty where nothing was noted.
    """
    programme, first, on = asked.programme, window_start(asked.summary.on), asked.summary.on
    found = [one for one in asked.observations.specimens if first <= one.read_on <= on]
    named = [is_open(one) or taken_off(one, programme) for one in found]
    said = [f"{_sentence(one, asked)}." for one, its in zip(found, named, strict=True) if its]
    if rest := _by_kind([one for one, its in zip(found, named, strict=True) if not its]):
        said.append(f"Other catch: {rest}.")
    return titled("Other catch in the traps", said)


def _sentence(one: Specimen, asked: DaySummary) -> str:
    place = f"{as_name(one.trap)}, {day(one.read_on)} [{Names(asked.programme).place(block_of(one, asked.programme))}]"
    off = taken_off(one, asked.programme)
    if off:
        did = f"{off} taken off its count" if off > 0 else f"{-off} put on its count"
        named = f"named {day(one.identified_on)} by {as_name(one.identified_by)}" if one.identified_on else ""
        return f"{place}: {specimens.label(one)} is {as_name(one.what)}, {named}; {did}"
    vial = f" in vial {sanitize(one.vial, 20)}" if one.vial else ""
    many = how_many(one.number, one.what)
    counted = ", counted as the trap's pest until then: the figure may change" if one.in_count else ", not counted"
    note = f" ({as_note(one.note)})" if one.note else ""
    return f"! {place}: {many}{vial} not identified yet{counted}{note}"


def _by_kind(found: Iterable[Specimen]) -> str:
    kinds = grouped((one.what, one.number) for one in found)
    return listed(how_many(sum(numbers), what) for what, numbers in kinds.items())


class Ahead(Frozen):
    """What naming a specimen changes."""

    consequences: tuple[Consequence, ...]
    """In what people act on."""
    letters: tuple[str, ...]
    """Letters on disk that no longer hold, a sentence each."""


Change = tuple[Path, Office, Callable[[], object]]
"""The scouting folder, what its office settled for itself, and what puts something on record."""


def letters_changed(
    conn: Connection, about: Change, ready: Identification, programme: Programme, on: date
) -> tuple[str, ...]:
    """Letters on disk that a name makes out of date, a sentence each.

    Args:
        conn: The store.
        about: Where the letters lie, and what puts the name on record.
        ready: The name.
        programme: For the farm of its trap.
        on: The day.
    """
    from roundtui.report.letters.files import letters_outdated, outdated_words

    farms = (programme.farm_of(block_of(ready.specimen, programme)),)
    return outdated_words(conn, letters_outdated(conn, *about, farms=farms, since=ready.specimen.read_on, on=on))


class SpecimenDesk:
    """What the screens ask and tell about specimens.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self._first = season_start(session.on, session.office.season_starts_on)

    def listed(self, *, every: bool) -> tuple[Specimen, ...]:
        """Specimens that wait for a name, the oldest first; or every vial and counted-in one of the season.

        Args:
            every: Those of the season that are named already as well.
        """
        return tuple(
            one
            for one in recounts.other_catch(self.session.conn, self.session.on)
            if is_open(one) or (every and one.read_on >= self._first and (one.vial or one.in_count))
        )

    def vial(self) -> str:
        """The number proposed for the next vial."""
        session = self.session
        return specimens.next_vial(one.vial for one in recounts.other_catch(session.conn, session.on, self._first))

    def note(self, specimen: Specimen, *, counted: int | None) -> str:
        """Put on record what else was in a trap. When this returns it is on the disk.

        Args:
            specimen: What was found.
            counted: Moths typed at the trap where its count is not on record yet.

        Returns:
            What is on record now, in a few words.

        Raises:
            RoundtuiError: It cannot be; nothing was recorded.
        """
        session = self.session
        kind = specimens.KINDS.get(specimen.what)
        if kind is not None and not kind.doubtful:
            specimen = replace(specimen, identified_on=specimen.read_on, identified_by=session.scout)
        ready = recounts.to_record(
            session.conn, session.programme, replace(specimen, scout=session.scout), counted=counted
        )
        self._record(ready)
        vial = f", vial {sanitize(specimen.vial, 20)}" if specimen.vial else ""
        where = f"{sanitize(specimen.trap, 16)}: {how_many(specimen.number, specimen.what)}{vial}"
        if ready.visit is not None:
            return f"{where} on record, and its count is {ready.visit.count} now"
        return f"{where} on record{', in the count until named' if specimen.in_count else ''}"

    def identification(self, wanted: str, what: str, by: str, on: date) -> Identification:
        """A name made ready.

        Args:
            wanted: Number on the vial, or the entry's id.
            what: What it is.
            by: Who says so.
            on: When that was.

        Raises:
            RoundtuiError: It cannot be.
        """
        session = self.session
        session.named()
        if on > session.on:
            raise RefusedError(f"{on} is still to come", "correct the day")
        found = recounts.find_specimen(session.conn, wanted, session.on)
        return recounts.identification(session.conn, session.programme, found, what=what, by=by, on=on)

    def ahead(self, ready: Identification) -> Ahead:
        """What a name changes, looked up over a connection of its own, so that a thread can; nothing is recorded.

        Args:
            ready: The name.

        Raises:
            RoundtuiError: It would be refused.
        """
        session, visit = self.session, ready.visit
        change = partial(recounts.record_identification, ready=ready, author=session.author, now=session.clock())
        with session.connection() as conn:
            about = (session.folder, session.office, partial(change, conn))
            letters = letters_changed(conn, about, ready, session.programme, session.on)
        return Ahead(tried_out(session, change, {visit.read_on}, traps={visit.trap}) if visit else (), letters)

    def name(self, ready: Identification) -> str:
        """Put a name on record, with the count it changes. When this returns both are on the disk.

        Args:
            ready: The name.

        Returns:
            What is on record now, in a few words.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        self._record(ready)
        did = f"{specimens.label(ready.specimen)}: {sanitize(ready.specimen.what, 40)}"
        if ready.visit is None:
            return f"Saved: {did}; no count changes"
        return f"Saved: {did}; the count of {sanitize(ready.visit.trap, 16)} is {ready.visit.count} now"

    def _record(self, ready: Identification) -> None:
        session = self.session
        recounts.record_identification(session.conn, ready, session.author, session.clock())
        if ready.visit is not None:
            session.forget()
