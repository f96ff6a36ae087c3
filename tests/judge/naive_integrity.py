"""A second reading of the trap-integrity rule, slow and plain: play every day for every trap, then look back.

Nothing here is shared with the product but its records. The state of *every* trap is written down after *every* event,
so a run is found by walking back through the diary and never has to be kept up to date.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from roundtui.domain.entries import Assembled, PartNoted, Visit
    from roundtui.domain.programme.farm import Programme, Trap

LONG_AGO = date.min
Event = tuple[date, int, tuple[object, ...], "Trap | None", "Visit | Assembled | PartNoted | None"]


@dataclass(frozen=True)
class Found:
    """What the judge says of one trap."""

    kind: str
    found: str | None
    since: date | None
    partner: str | None = None


@dataclass(frozen=True)
class State:
    """A trap between two events."""

    lure: str
    scents: tuple[str, ...]
    species: str

    @property
    def foreign(self) -> tuple[str, ...]:
        return tuple(scent for scent in self.scents if scent != self.species)

    def is_(self, kind: str) -> bool:
        if kind == "no-lure":
            return self.lure == "none"
        if kind == "wrong-lure":
            return self.lure not in ("none", self.species)
        return bool(self.foreign)

    @property
    def suspect(self) -> bool:
        return self.lure != self.species or bool(self.foreign)


class Diary:
    """The state of every trap after every event up to a day.

    Args:
        programme: What is set up.
        visits: Present visits of all traps.
        on: Last day.
        assembled: Present entries of traps assembled.
        parts: Present notes on parts.
    """

    def __init__(
        self,
        programme: Programme,
        visits: Sequence[Visit],
        on: date,
        assembled: Sequence[Assembled] = (),
        parts: Sequence[PartNoted] = (),
    ) -> None:
        self.programme = programme
        self.on = on
        self.assembled = assembled
        self.parts = parts
        self.pages: list[tuple[date, dict[str, State]]] = []
        self.put_in: dict[str, list[date]] = {}
        self._spans: dict[str, list[tuple[date, date, Trap]]] = {}
        self._play(list(visits))

    def _hangings(self, trap: str) -> list[tuple[date, date, Trap]]:
        if trap not in self._spans:
            rows = sorted((r for r in self.programme.traps if r.trap == trap), key=lambda r: r.hung_on or LONG_AGO)
            begins = [row.hung_on or LONG_AGO for row in rows] + [date.max]
            self._spans[trap] = [
                (begins[at], min(row.down_on or date.max, begins[at + 1]), row) for at, row in enumerate(rows)
            ]
        return self._spans[trap]

    def hanging(self, trap: str) -> Trap | None:
        """The hanging of a trap on the day of the diary, the newest where two meet."""
        rows = [row for first, last, row in self._hangings(trap) if first <= self.on <= last]
        return rows[-1] if rows else None

    def _species_of(self, lure: str, own: str) -> str:
        if lure in ("yes", "none"):
            return own if lure == "yes" else "none"
        return self.programme.lots[lure].species if lure in self.programme.lots else lure

    def _events(self, visits: list[Visit]) -> list[Event]:
        events: list[Event] = [
            (one.assembled_on, 0, (str(one.recorded_at), one.id), None, one)
            for one in self.assembled
            if one.assembled_on <= self.on
        ]
        events += [
            (part.noted_on, 0, (str(part.recorded_at), part.id), None, part)
            for part in self.parts
            if part.noted_on <= self.on
        ]
        for trap in {row.trap for row in self.programme.traps}:
            mine = [visit for visit in visits if visit.trap == trap]
            for first, last, row in self._hangings(trap):
                events.append((first, 1, (row.trap,), row, None))
                for visit in mine:
                    later = any(
                        other is not row and first < begins == visit.read_on
                        for begins, _, other in self._hangings(trap)
                    )
                    if first <= visit.read_on <= last and not later:
                        events.append((visit.read_on, 2, (visit.recorded_at, visit.id), row, visit))
        return sorted(events, key=lambda event: event[:3])

    def _play(self, visits: list[Visit]) -> None:
        events = self._events(visits)
        bodies: dict[str, list[str]] = {}  # body -> species whose lures it held, newest last
        body_of: dict[str, str] = {}
        lure_of: dict[str, str] = {}
        species_of: dict[str, str] = {}
        seen: dict[str, tuple[str, ...]] = {}  # trap -> scents of its body when something last happened to it
        down: dict[str, date] = {}
        fresh = 0
        # What comes later is known of for what it says about the days before, and is not played.
        for at, (day, _, _, row, visit) in enumerate(event for event in events if event[0] <= self.on):
            if row is None:
                body, species = self._before_hanging(visit, body_of)
                if species:
                    held = bodies.setdefault(body, [])
                    if species in held:
                        held.remove(species)
                    held.append(species)
                    seen |= {one: tuple(held) for one in body_of if body_of[one] == body and day <= down[one]}
                page = {one: State(lure_of[one], seen[one], species_of[one]) for one in body_of}
                self.pages.append((day, page))
                continue
            trap = row.trap
            species_of[trap] = row.species
            down[trap] = next(last for _, last, other in self._hangings(trap) if other is row)
            assembled = self._assembled(row) if visit is None else None
            label = (row.body_label or (assembled.body_label if assembled else "")) if visit is None else visit.body
            if label == "yes" or (trap not in body_of and not label):
                fresh += 1
                clean = label == "yes" or f"own body of {trap}" not in bodies
                body_of[trap] = f"clean body {fresh}" if clean else f"own body of {trap}"
            elif label:
                body_of[trap] = f"label {label}"
            if visit is None:
                lot = self.programme.lots.get(row.lot or (assembled.lot if assembled else ""))
                lure: str | None = lot.species if lot else row.species
            else:
                lure = None if visit.lure is None else self._species_of(visit.lure, row.species)
            if lure is not None:
                really = self._really(lure, trap, at, events)
                earlier = self.put_in[trap] if really == lure_of.get(trap) else []
                self.put_in[trap] = [*earlier, day]
                lure_of[trap] = really
            if lure_of[trap] != "none" and (lure is not None or label):
                held = bodies.setdefault(body_of[trap], [])
                if lure_of[trap] in held:
                    held.remove(lure_of[trap])
                held.append(lure_of[trap])
            here = body_of[trap]
            seen |= {one: tuple(bodies.get(here, ())) for one in body_of if body_of[one] == here}
            page = {one: State(lure_of[one], seen[one], species_of[one]) for one in body_of}
            self.pages.append((day, page))

    def _before_hanging(self, entry: Assembled | PartNoted, body_of: dict[str, str]) -> tuple[str, str]:
        """Which body took which scent while it did not hang."""
        if hasattr(entry, "part"):
            used = entry.part.value == "body" and entry.state.value in ("stored", "lost", "discarded")
            return f"label {entry.label}", entry.species if used else ""
        lot = self.programme.lots.get(entry.lot)
        body = f"label {entry.body_label}" if entry.body_label else body_of.get(entry.trap, f"own body of {entry.trap}")
        return body, lot.species if lot else ""

    def _assembled(self, row: Trap) -> Assembled | None:
        """How a trap was assembled last, after it was hung the time before."""
        if row.hung_on is None:
            return None
        before = [r.hung_on or LONG_AGO for r in self.programme.traps if r.trap == row.trap]
        since = max((day for day in before if day < row.hung_on), default=LONG_AGO)
        mine = [a for a in self.assembled if a.trap == row.trap and since < a.assembled_on <= row.hung_on]
        return max(mine, key=lambda a: (a.assembled_on, a.recorded_at, a.id)) if mine else None

    def _really(self, lure: str, trap: str, at: int, events: Sequence[Event]) -> str:
        """What was in the trap after all: whatever was found in it last before its next change of lure."""
        for _, _, _, row, visit in events[at + 1 :]:
            if row is None or row.trap != trap:
                continue
            if visit is None:
                break
            if visit.lure_found is not None:
                lure = self._species_of(visit.lure_found, row.species)
            if visit.lure is not None:
                break
        return lure

    def since(self, trap: str, kind: str) -> date | None:
        """First day of the unbroken run of a state that holds now; None where the trap was hung so without a date."""
        first = self.on
        for day, page in reversed(self.pages):
            if trap not in page or not page[trap].is_(kind):
                break
            first = day
        return None if first == LONG_AGO else first

    def suspect(self, trap: str, start: date, end: date) -> bool:
        """Whether any night from one day to another was spent in trouble."""
        day = start
        while day < end:
            upto = bisect_right(self.pages, day, key=lambda page: page[0])
            state = next((page[trap] for _, page in reversed(self.pages[:upto]) if trap in page), None)
            if state is not None and state.suspect:
                return True
            day += timedelta(days=1)
        return False

    def troubles(self) -> dict[str, Found]:
        """What is wrong with each trap that hangs on the day."""
        if not self.pages:
            return {}
        now = self.pages[-1][1]
        hanging = {trap: row for trap in now if (row := self.hanging(trap)) is not None}
        partners = self._pairs(hanging, now)
        found = {}
        for trap in hanging:
            state = now[trap]
            if state.is_("wrong-lure"):
                kind = "swapped-lures" if trap in partners else "wrong-lure"
                found[trap] = Found(kind, state.lure, self.since(trap, "wrong-lure"), partners.get(trap))
            elif state.is_("no-lure"):
                found[trap] = Found("no-lure", None, self.since(trap, "no-lure"))
            elif state.foreign:
                found[trap] = Found("scented-body", state.foreign[-1], self.since(trap, "scented-body"))
        return found

    def _pairs(self, hanging: dict[str, Trap], now: dict[str, State]) -> dict[str, str]:
        """Pairs that hold each other's species since one date: same block, then same farm, then nearest on a route."""
        far = 10**6
        offers = []
        for one, other in combinations(sorted(hanging, key=natural), 2):
            if now[one].lure != now[other].species or now[other].lure != now[one].species:
                continue
            if now[one].species == now[other].species or not set(self.put_in[one]) & set(self.put_in[other]):
                continue
            block, observations = hanging[one].block, hanging[other].block
            farm, next_farm = self.programme.blocks[block].farm, self.programme.blocks[observations].farm
            near = 0 if block == observations else 1 if farm == next_farm else 2
            steps = [
                abs(walk.index(one) - walk.index(other)) for walk in self._walks() if one in walk and other in walk
            ]
            offers.append((near, min(steps, default=far), natural(one), natural(other), one, other))
        partners: dict[str, str] = {}
        for *_, one, other in sorted(offers):
            if one not in partners and other not in partners:
                partners[one], partners[other] = other, one
        return partners

    def _walks(self) -> list[list[str]]:
        routes = {stop.route for stop in self.programme.stops}
        return [
            [s.trap for s in sorted(self.programme.stops, key=lambda s: s.position) if s.route == route]
            for route in routes
        ]


def natural(label: str) -> list[tuple[int, int, str]]:
    """A2 before A10."""
    return [(0, int(part), "") if part.isdigit() else (1, 0, part.lower()) for part in re.findall(r"\d+|\D+", label)]
