"""Questions pinned to an entry: asked, answered and closed, each word an entry of its own.

Which traps of a round are to be counted a second time by somebody else.
Which visits were made on time, where the office asks for an interval.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from datetime import date, timedelta
from enum import StrEnum
from statistics import NormalDist, fmean, stdev
from typing import TypeVar

from roundtui.domain.entries import Recorded, Specimen, Visit, fact, said
from roundtui.domain.intervals import clopper_pearson, wilson
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import Problem


class CheckResult(StrEnum):
    """What a supervisor found at a trap: that it passed, or which failure."""

    PASSED = "passed"
    WRONG_PLACE = "wrong-place"
    LABEL_GONE = "label-gone"
    LINER_FULL = "liner-full"
    LURE_PAST = "lure-past"
    COUNT_DIFFERS = "count-differs"
    NOT_VISITED = "not-visited"
    PLANTED = "planted"
    """No finding: marked specimens were planted, and so many of them reported."""
    OTHER = "other"


class TrapChecked(Recorded, kw_only=True):
    """A supervisor's visit to a trap. What is planted is no catch, and is entered once the scout has reported."""

    trap: str = field(metadata=fact("Label of the trap."))
    checked_on: date = field(metadata=fact("Day of the visit, or of planting."))
    result: CheckResult = field(metadata=fact("Passed, or which failure; planted where specimens were planted."))
    planted: int | None = said("Marked specimens planted.", None, least=1, most=999)
    recovered: int | None = said("How many of them were reported.", None, least=0, most=999)
    note: str = said("Free words.")


def check_supervision(entry: TrapChecked, programme: Programme) -> tuple[Problem, ...]:
    """What is impossible of a supervisor's visit.

    Args:
        entry: The entry.
        programme: What is set up.
    """
    where = f"trap {sanitize(entry.trap, 40)} on {entry.checked_on}"
    wanted = entry.result is CheckResult.PLANTED
    if entry.trap not in programme.hangings:
        return (Problem(where, "there is no such trap", "check the label, or set it up first"),)
    if {entry.planted is not None, entry.recovered is not None} != {wanted}:
        return (Problem(where, "planted and recovered belong to the result planted", "write all three, or none"),)
    if (entry.recovered or 0) > (entry.planted or 0):
        words = f"{entry.recovered} of {entry.planted} planted cannot have been found"
        return (Problem(where, words, "write at most as many as were planted"),)
    return ()


class QuestionWord(StrEnum):
    """What a row says in the talk about an entry."""

    ASKED = "asked"
    ANSWERED = "answered"
    CLOSED = "closed"


class Question(Recorded, kw_only=True):
    """One word about an entry. Trap, block and day are those of the entry when it was asked about."""

    entry: str = field(metadata=fact("Id of the entry it is pinned to."))
    says: QuestionWord = field(metadata=fact("Whether it asks, answers, or closes the matter."))
    words: str = said("The question or the answer; may be empty where it only closes.")
    about_on: date = field(metadata=fact("Day that the entry is about."))
    trap: str | None = said("Trap the entry is about; None for a block's.", None)
    block: str | None = said("Block the entry is about; None for a trap's.", None)


class Talk(Frozen):
    """All that stands about one entry, in the order recorded."""

    rows: tuple[Question, ...]
    """At least one."""

    @property
    def entry(self) -> str:
        """Id of the entry it is about."""
        return self.rows[0].entry

    @property
    def newest(self) -> Question:
        """What was said last."""
        return self.rows[-1]

    @property
    def open(self) -> bool:
        """Whether nobody has closed it: an answer alone does not, since whoever asked should have seen it."""
        return self.newest.says is not QuestionWord.CLOSED

    @property
    def answered(self) -> bool:
        """Whether the newest word is an answer."""
        return self.newest.says is QuestionWord.ANSWERED


def talks(rows: Iterable[Question]) -> Mapping[str, Talk]:
    """What stands about each entry.

    Args:
        rows: Words that stand, in any order, recorded all of them.

    Returns:
        By id of the entry, the one spoken about last at the end.
    """
    by_entry = grouped((row.entry, row) for row in sorted(rows, key=_order))
    found = [Talk(tuple(words)) for words in by_entry.values()]
    return {talk.entry: talk for talk in sorted(found, key=lambda talk: _order(talk.newest))}


def open_talks(rows: Iterable[Question]) -> Sequence[Talk]:
    """Those that nobody has closed, the one spoken about last at the end."""
    return [talk for talk in talks(rows).values() if talk.open]


def _order(row: Question) -> tuple[str, str]:
    return ("" if row.recorded_at is None else row.recorded_at.isoformat(), row.id)


def in_words(gap: timedelta) -> str:
    """A span of time as a person says it, its two largest units at most."""
    seconds = round(abs(gap.total_seconds()))
    days, hours, minutes = seconds // 86_400, seconds // 3600 % 24, seconds // 60 % 60
    sign = "-" if gap < timedelta() and seconds else ""
    if days:
        return f"{sign}{days} d {hours} h"
    if hours:
        return f"{sign}{hours} h {minutes} min"
    if minutes:
        return f"{sign}{minutes} min {seconds % 60} s"
    return f"{sign}{seconds} s"


LEAST_PAIRS = 10
"""Fewest pairs from which anything is said of how far counters agree (common practice, no source)."""
CONFIDENCE = 0.95
"""How often an interval holds the true value. [1]"""
PUBLISHED = ((0.80, "males"), (0.85, "females"))
"""Probability that an unskilled person's trap count was exactly right, in a published trial."""
PUBLISHED_SOURCE = (
    "Blackshaw 1987, Annals of Applied Biology, zendy.io/title/10.1111/j.1744-7348.1987.tb03254.x: unskilled "
    "operators; the error did not go with the size of the catch"
)
"""Source of ``PUBLISHED``."""


class Pair(Frozen):
    """One catch counted by two people."""

    trap: str
    """Label of the trap."""
    read_on: date
    """Day of the count."""
    first: str
    """Who counted first."""
    first_count: int
    """What they counted, before any of it was named as another species. [moths]"""
    second: str
    """Who counted again."""
    second_count: int
    """What they counted. [moths]"""

    @property
    def difference(self) -> int:
        """Second count less the first. [moths]"""
        return self.second_count - self.first_count


class Agreement(Frozen):
    """How far the counts of some pairs agree."""

    pairs: tuple[Pair, ...]
    """What it is worked out from."""
    alike: int
    """Pairs exactly alike."""
    share_interval: tuple[float, float] | None
    """Interval of the share exactly alike, after Wilson 1927; None without pairs."""
    mean_difference: float | None
    """Mean of second less first; None without pairs. [moths]"""
    limits: tuple[float, float] | None
    """Limits within which 95 of 100 differences lie, after Bland and Altman 1986; None below two pairs. [moths]"""
    kappa: float | None
    """Cohen's kappa on whether there was any catch; None where there are too few pairs, or where nobody ever found
    none, or anything."""

    @property
    def enough(self) -> bool:
        """Whether there are enough pairs to say how far counters agree."""
        return len(self.pairs) >= LEAST_PAIRS

    @property
    def share(self) -> float | None:
        """Share of pairs exactly alike; None without pairs."""
        return self.alike / len(self.pairs) if self.pairs else None


def agreement(pairs: Iterable[Pair]) -> Agreement:
    """How far two people who count the same catch agree.

    Args:
        pairs: Catches counted twice.

    Sources: limits of agreement, Bland and Altman 1986, Lancet 327:307; kappa, Cohen 1960, Educational and
    Psychological Measurement 20:37 (both from memory).
    """
    every = tuple(sorted(pairs, key=lambda pair: (pair.read_on, natural_key(pair.trap))))
    alike = sum(1 for pair in every if pair.difference == 0)
    differences = [pair.difference for pair in every]
    mean = fmean(differences) if differences else None
    limits = None
    if mean is not None and len(differences) > 1:
        reach = NormalDist().inv_cdf(1 - (1 - CONFIDENCE) / 2) * stdev(differences)
        limits = (mean - reach, mean + reach)
    kappa = None
    if len(every) >= LEAST_PAIRS:
        kappa = cohens_kappa([(pair.first_count > 0, pair.second_count > 0) for pair in every])
    return Agreement(
        pairs=every,
        alike=alike,
        share_interval=wilson(alike, len(every), CONFIDENCE) if every else None,
        mean_difference=mean,
        limits=limits,
        kappa=kappa,
    )


def cohens_kappa(pairs: Sequence[tuple[bool, bool]]) -> float | None:
    """Cohen's kappa of two people's yes or no.

    Args:
        pairs: What each of the two said of each.

    Returns:
        1 where they always agree, 0 where they agree as often as by chance; None where all said one thing throughout,
        so that chance alone explains it.
    """
    number = len(pairs)
    first, second = (sum(1 for pair in pairs if pair[at]) / number for at in (0, 1))
    by_chance = first * second + (1 - first) * (1 - second)
    if math.isclose(by_chance, 1):
        return None
    agreed = sum(1 for one, other in pairs if one == other) / number
    return (agreed - by_chance) / (1 - by_chance)


class VisitAsked(Frozen):
    """One visit that the office's interval asks for."""

    trap: str
    """Label of the trap."""
    due: date
    """Day by which somebody was to come."""
    came_on: date | None
    """Day on which somebody did; None: nobody has, and the day is past."""
    scout: str = ""
    """Who came."""

    @property
    def on_time(self) -> bool:
        """Whether somebody came by the day."""
        return self.came_on is not None and self.came_on <= self.due


def came_by(visit: Visit) -> bool:
    """Whether a visit served its trap: it was counted, or found missing, down or damaged; skipped and closed do not."""
    found = visit.no_reading is not None and visit.no_reading.restarts_exposure
    return not visit.recount and (visit.count is not None or found)


def visits_asked(
    row: Trap, visits: Iterable[Visit], due_after: Callable[[Trap, date], date | None], first: date, on: date
) -> Iterator[VisitAsked]:
    """Visits to a trap that fell due in a span of days, each with who came and when.

    Args:
        row: The hanging.
        visits: Present visits to the trap.
        due_after: Day by which it is to be seen again after a day; None where no interval is asked for.
        first: First day of the span.
        on: Last day.

    Yields:
        Each in turn; one that is still to come is left out.
    """
    last = row.hung_on
    for visit in sorted(
        (one for one in visits if came_by(one) and row.hangs_on(one.read_on)), key=lambda one: one.order
    ):
        if visit.read_on == last or visit.read_on > on:
            continue
        due = due_after(row, last) if last is not None else None
        if due is not None and first <= due:
            yield VisitAsked(row.trap, due, visit.read_on, visit.scout)
        last = visit.read_on
    due = due_after(row, last) if last is not None else None
    if due is not None and first <= due < min(on, row.down_on or on):
        yield VisitAsked(row.trap, due, None)


K = TypeVar("K", bound=Hashable)


class Share(Frozen):
    """So many of so many, with the exact interval of the share."""

    good: int
    """How many."""
    of: int
    """Of how many, at least one."""

    @property
    def interval(self) -> tuple[float, float]:
        """Exact interval of 95 %, as if each were drawn by itself. [1]"""
        return clopper_pearson(self.good, self.of, CONFIDENCE)


def shares(rows: Iterable[tuple[K, int, int]]) -> dict[K, Share]:
    """Shares by what they are about.

    Args:
        rows: What each is about, how many were good, and of how many.
    """
    found = grouped((key, (good, of)) for key, good, of in rows)
    summed = {key: Share(*map(sum, zip(*found[key], strict=True))) for key in sorted(found, key=str)}
    return {key: share for key, share in summed.items() if share.of}


class Person(Frozen):
    """A row of ``people.csv``."""

    person: str
    """Name, as it stands at entries."""
    may_identify: str
    """Species set apart by semicolons, or all."""
    trained_on: date | None
    """Day of the training; None: none on record."""
    valid_until: date | None
    """Last day on which it counts; None: no end."""

    def identifies(self, species: str) -> bool:
        """Whether they may identify what comes to the traps of a species."""
        return bool({species.casefold(), "all"} & {one.strip().casefold() for one in self.may_identify.split(";")})

    def trained(self, on: date) -> bool:
        """Whether a training counts on a day."""
        return self.trained_on is not None and self.trained_on <= on <= (self.valid_until or date.max)


class Quality(Frozen):
    """How the scouting itself was done in a span of days: shares by what, and by whom, where and when."""

    first: date
    """First day."""
    on: date
    """Last day."""
    shares: Mapping[str, Mapping[str, Mapping[str, Share]]]
    """Visits on time, visits by trained people, checks passed, planted specimens found: all, by person, route, time."""
    failures: Mapping[str, int]
    """How often a supervisor found which failure."""
    caught: Mapping[str, tuple[int, int, int]]
    """Moths, trap-days and sterile moths of valid readings, by species."""


ON_TIME, TRAINED, PASSED, RECOVERED = "visits on time", "visits by trained people", "checks passed", "planted found"
IDENTIFIED = "identified by those who may"
NOBODY = "nobody yet"
"""Stands for who came where nobody has."""


def quality(
    span: tuple[date, date],
    *,
    asked: Iterable[VisitAsked],
    checks: Iterable[tuple[TrapChecked, str]],
    came: Iterable[Visit],
    people: Mapping[str, Person],
    named: Iterable[tuple[Specimen, str]],
    routes: Mapping[str, Sequence[str]],
    caught: Mapping[str, tuple[int, int, int]],
) -> Quality:
    """Put together how the scouting was done.

    Args:
        span: First and last day.
        asked: Visits that an interval asked for.
        checks: Supervisor's visits, each with whoever had read the trap.
        came: Visits that served their trap.
        people: Rows of ``people.csv`` by name; empty: nothing is said of training.
        named: Specimens that somebody identified, each with the species of its trap.
        routes: Traps of each route.
        caught: Moths, trap-days and sterile moths by species.
    """
    rows: list[tuple[str, str, str, date, int, int]] = [
        (ON_TIME, one.scout or NOBODY, one.trap, one.due, int(one.on_time), 1) for one in asked
    ]
    failures: dict[str, int] = {}
    for check, scout in checks:
        planted = check.result is CheckResult.PLANTED
        good = (check.recovered or 0) if planted else int(check.result is CheckResult.PASSED)
        what = RECOVERED if planted else PASSED
        rows.append((what, scout or NOBODY, check.trap, check.checked_on, good, check.planted or 1))
        if what == PASSED and not good:
            failures[check.result.value] = failures.get(check.result.value, 0) + 1
    for visit in came if people else ():
        person = people.get(visit.scout)
        good = int(person is not None and person.trained(visit.read_on))
        rows.append((TRAINED, visit.scout, visit.trap, visit.read_on, good, 1))
    for one, species in named if people else ():
        person = people.get(one.identified_by)
        good = int(person is not None and person.identifies(species))
        rows.append((IDENTIFIED, one.identified_by, one.trap, one.identified_on or one.read_on, good, 1))
    of = grouped((trap, route) for route, traps in routes.items() for trap in traps)
    found: dict[str, dict[str, dict[str, Share]]] = {}
    for what in dict.fromkeys(row[0] for row in rows):
        mine = [row for row in rows if row[0] == what]
        found[what] = {
            "all": shares(("all", good, number) for *_, good, number in mine),
            "person": shares((who, good, number) for _, who, _, _, good, number in mine),
            "route": shares((r, good, number) for _, _, trap, _, good, number in mine for r in of.get(trap, [])),
            "week": shares(
                ((day - timedelta(days=day.weekday())).isoformat(), good, number) for *_, day, good, number in mine
            ),
        }
    return Quality(*span, found, dict(sorted(failures.items())), dict(sorted(caught.items())))
