"""One threshold rule: the figure it judges, its band, where it holds and where it is from.

A threshold rule out of the table that an office wrote, or the problems in it.
Threshold rules: those that ship, an office's own, and which of them could tie.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from roundtui.domain.programme.stages import ANY_CROP
from roundtui.domain.records import Frozen
from roundtui.domain.text import ruled
from roundtui.domain.toml_table import TableReader, place_in, shown, toml_text
from roundtui.errors import Problem
from roundtui.published import read

if TYPE_CHECKING:
    from roundtui.domain.sampling.records import Sought


class RuleKind(StrEnum):
    """Which figure a rule looks at."""

    MEAN = "mean"
    """Mean of the block's traps, per trap per week."""
    SINGLE_TRAP = "single-trap"
    """The highest single trap, per week; with ``weeks`` the trap whose least of so many weeks is the highest."""
    RUNNING = "running"
    """The least weekly mean of the last so many weeks: the block stood there in each of them."""
    CUMULATIVE = "cumulative"
    """Mean catch per trap added up over days."""


HANGING = "hanging"
"""``Rule.since``: from the day the trap was hung."""
BIOFIX = "biofix"
"""``Rule.since``: from the biofix."""
ROLLING = "days"
"""``Rule.since``: over the last ``days`` days."""
PERIODS = "degree-days"
"""``Rule.since``: from the biofix in periods of ``degree_days``, each from zero."""
HOLD = "hold"
"""``Rule.after_treatment``: catches of the time after a treatment are not added."""
RESTART = "restart"
"""``Rule.after_treatment``: the sum starts anew after a treatment."""
AT_OR_OVER, OVER_ONLY = ">=", ">"
"""``Rule.compare``: a figure exactly on an edge has reached it, or has not yet."""
UNBAITED = "unbaited"
"""Lure kind of a trap that hangs without a lure on purpose."""
BAITED = "baited"
"""``Rule.lure_kind``: any kind but ``unbaited``."""


@lru_cache(maxsize=1024)
def kind_word(text: str) -> str:
    """A lure kind or trap style as it is compared: letter case, spaces and the sign of multiplication are no matter.

    Args:
        text: As written in a set-up file or a rule, as "10×" or "Large delta".
    """
    return "-".join(text.casefold().replace("×", "x").replace("_", " ").replace("-", " ").split())


def rule_name(code: str) -> str:
    """A rule as people say it: ``shipped-cm-mean``, one of those that ship, is the CM mean; an office's as it wrote it.

    Args:
        code: Its id.
    """
    if not code.startswith("shipped-"):
        return code
    species, *what = code.removeprefix("shipped-").split("-")
    return " ".join((species.upper(), *what))


class Rule(Frozen, kw_only=True):
    """A band for one species, the figure it judges, and where it holds."""

    id: str
    """Short name, as a summary shows it."""
    species: str
    """Abbreviation of the species."""
    kind: RuleKind
    """Figure that is compared."""
    low: Fraction
    """Below it: ``below``. [moths per trap per week; cumulative: moths per trap]"""
    high: Fraction
    """At or over it: ``over``; in between: ``within``. Same unit."""
    source: str
    """Who published it, or that nobody did."""
    date: date | None
    """Day of the source, or on which the office took it up."""
    weeks: int | None = None
    """Running, and single-trap where one trap must stand there in each of them: so many weeks."""
    since: str | None = None
    """Cumulative: ``hanging``, ``biofix``, a two-digit stage, ``days`` or ``degree-days``; None: from the start of the
    season."""
    months: tuple[int, ...] = ()
    """Months in which it holds; empty: all."""
    load_mg: tuple[Fraction, Fraction] | None = None
    """Lure loads for which it holds, both ends included. [mg]"""
    lure_kind: tuple[str, ...] = ()
    """Kinds of lure for which it holds, as ``kind_word`` has them; ``baited`` is any but unbaited; empty: all."""
    style: tuple[str, ...] = ()
    """Trap styles for which it holds, as ``kind_word`` has them; empty: all."""
    ha_per_trap: tuple[Fraction, Fraction] | None = None
    """Ground to one trap for which it holds, both ends included. [ha]"""
    disrupted: bool | None = None
    """Holds only with, or only without, mating disruption; None: for both."""
    market: str = ""
    """Market for which the fruit of the block must be meant; empty: for all."""
    region: str = ""
    """Where it was printed for; an office chooses by it, no block is asked."""
    compare: str = AT_OR_OVER
    """Whether a figure exactly on an edge has reached it."""
    timing_only: bool = False
    """Print says that the catch times and does not decide: such a rule gives no verdict, only its source."""
    edge: bool = False
    """Whether edge traps are taken into its figure."""
    after_treatment: str | None = None
    """Cumulative: ``hold`` or ``restart`` after a treatment."""
    days: int | None = None
    """How long a treatment holds the sum, or after how long it restarts; or the length of a rolling sum. [d]"""
    degree_days: Fraction | None = None
    """The same in degree-days of the species; or the length of a period."""
    office: bool = False
    """Whether the office wrote it; the office's rules come before those that ship."""

    @property
    def name(self) -> str:
        """As people say it."""
        return rule_name(self.id)

    @property
    def specificity(self) -> int:
        """How many conditions on block and lure it states; the most specific fitting rule wins."""
        stated = (self.months, self.load_mg, self.lure_kind, self.style, self.ha_per_trap, self.market)
        return sum(map(bool, stated)) + (self.disrupted is not None)


def read_rule(reader: TableReader) -> Rule:
    """One rule of a table; where the reader has noted a problem it is to be left out.

    Args:
        reader: Reads the table.
    """
    timing_only = reader.yes_no("timing_only") or False
    low, high = _band(reader, needed=not timing_only)
    kind = reader.choice("kind", list(RuleKind), needed=True)
    rule = Rule(
        id=reader.id(),
        species=reader.species(),
        kind=RuleKind(kind) if kind else RuleKind.MEAN,
        low=low,
        high=high,
        source=reader.source(),
        date=reader.dated(),
        weeks=reader.whole("weeks", 1, 52),
        since=_since(reader),
        months=reader.wholes("months", 1, 12),
        load_mg=reader.numbers("load_mg"),
        lure_kind=_words(reader, "lure_kind"),
        style=_words(reader, "style"),
        ha_per_trap=reader.numbers("ha_per_trap"),
        disrupted=reader.yes_no("disrupted"),
        market=reader.text("market") or "",
        region=reader.text("region") or "",
        compare=reader.choice("compare", (AT_OR_OVER, OVER_ONLY)) or AT_OR_OVER,
        timing_only=timing_only,
        edge=reader.yes_no("edge") or False,
        after_treatment=reader.choice("after_treatment", (HOLD, RESTART)),
        days=reader.whole("days", 0, 366),
        degree_days=reader.number("degree_days"),
        office=True,
    )
    if kind:
        _check_kind(reader, rule)
    return rule


def _words(reader: TableReader, key: str) -> tuple[str, ...]:
    """One text, or a list of them."""
    written = reader.value(key)
    if written is None:
        return ()
    found = [kind_word(part) for part in (written if isinstance(written, list) else [written]) if isinstance(part, str)]
    if found and all(found) and (not isinstance(written, list) or len(found) == len(written)):
        return tuple(dict.fromkeys(found))
    reader.problem(key, f"{shown(written)} is no text", f'write one in quotes, or a list of them, {key} = ["…", "…"]')
    return ()


def _band(reader: TableReader, *, needed: bool) -> tuple[Fraction, Fraction]:
    low, high = reader.number("low"), reader.number("high")
    if needed and not reader.has("low") and not reader.has("high"):
        reader.problem("low, high", "are both missing", "write low and high, or one of them for a single number")
    if low is not None and high is not None and low > high:
        reader.problem("low", "is above high", "below low is below, at or over high is over: the smaller one is low")
    either = low if low is not None else high if high is not None else Fraction(0)
    return (low if low is not None else either), (high if high is not None else either)


def _since(reader: TableReader) -> str | None:
    written = reader.value("since")
    if written is None:
        return None
    text = f"{written:02d}" if isinstance(written, int) and not isinstance(written, bool) else str(written).strip()
    if text in (HANGING, BIOFIX, ROLLING, PERIODS) or text in {stage.code for stage in ANY_CROP}:
        return text
    reader.problem("since", f"{shown(text)} is no beginning", 'write "hanging", "biofix" or a stage code, as "57"')
    return None


def _check_kind(reader: TableReader, rule: Rule) -> None:
    running, cumulative = rule.kind is RuleKind.RUNNING, rule.kind is RuleKind.CUMULATIVE
    if rule.timing_only:
        for key in ("low", "high"):
            if reader.has(key):
                reader.problem(key, "has no meaning where the catch does not decide", "leave it out, or timing_only")
        return
    if running and not reader.has("weeks"):
        reader.problem("weeks", "is missing", "a running rule says over how many weeks, as weeks = 2")
    for key, belongs, to in (
        ("weeks", running or rule.kind is RuleKind.SINGLE_TRAP, RuleKind.RUNNING),
        ("since", cumulative, RuleKind.CUMULATIVE),
        ("after_treatment", cumulative, RuleKind.CUMULATIVE),
    ):
        if reader.has(key) and not belongs:
            reader.problem(key, f"has no meaning in a {rule.kind} rule", f"leave it out, or make the rule {to}")
    timed = reader.has("days") + reader.has("degree_days")
    if rule.since in (ROLLING, PERIODS):
        _check_span(reader, rule)
        return
    if timed and not reader.has("after_treatment"):
        reader.problem("days, degree_days", "belong to after_treatment", 'add after_treatment = "hold" or "restart"')
    if timed == 2:
        reader.problem("days, degree_days", "are both given", "keep one of them")
    if rule.after_treatment == HOLD and not timed:
        reader.problem("after_treatment", "does not say how long", "add days or degree_days, as days = 12")


def _check_span(reader: TableReader, rule: Rule) -> None:
    """What a rolling sum, or one in periods, must say and must not."""
    asked, other = ("days", "degree_days") if rule.since == ROLLING else ("degree_days", "days")
    if not (rule.days if rule.since == ROLLING else rule.degree_days):
        reader.problem(asked, "does not say over how many", f'since = "{rule.since}" adds up so many, as {asked} = 14')
    if reader.has(other):
        reader.problem(other, f'has no meaning with since = "{rule.since}"', "leave it out")
    if rule.after_treatment == HOLD:
        reader.problem("after_treatment", f'cannot hold with since = "{rule.since}"', 'write "restart"')


def _shipped(row: list[str]) -> Rule:
    id_, species, kind, low, high, loads, lure, style, day, source = row
    load, summed = [Fraction(one) for one in loads.split()], kind == RuleKind.CUMULATIVE
    return Rule(
        id=id_,
        species=species,
        kind=RuleKind(kind),
        low=Fraction(low),
        high=Fraction(high),
        source=source,
        date=date.fromisoformat(day) if day else None,
        since=HANGING if summed else None,
        load_mg=(load[0], load[1]) if load else None,
        lure_kind=(lure,) if lure else (),
        style=(style,) if style else (),
        disrupted=None if summed else False,
        edge=summed,
        after_treatment=RESTART if summed else None,
    )


SHIPPED_RULES = tuple(map(_shipped, ruled(read("rules")["shipped"])))
"""Rules that ship. Where no trap threshold was found published none ships, and the block stands at ``no-rule``."""


class PublishedRule(Frozen):
    """A rule as it was printed, for an office to choose."""

    rule: Rule
    """The rule as an office would have it."""
    crop: str
    """Crops it was printed for; empty: not said."""
    note: str
    """What else was printed beside it."""
    seen: str
    """``page``, ``abstract`` or ``copy``: what of the source was read."""
    written: Mapping[str, object]
    """Keys and values as ``thresholds.toml`` has them, without the day."""

    def toml(self, on: date) -> str:
        """The rule as text for ``thresholds.toml``.

        Args:
            on: Day on which the office takes it up.
        """
        lines = [f"{key} = {toml_text(value)}" for key, value in self.written.items()]
        return "\n".join(("[[rule]]", *lines, f"date = {on.isoformat()}", ""))


_OBSERVATIONS = ("crop", "note", "seen")


def published_rules(table: Mapping[str, object], where: str) -> tuple[PublishedRule, ...]:
    """Read the rules that were seen published.

    Args:
        table: The parsed TOML file.
        where: Its name as problems show it.

    Raises:
        ValueError: A row is faulty.
    """
    reader, found = TableReader(table, where), []
    for number, row in enumerate(reader.tables("rule"), 1):
        written = {key: value for key, value in row.items() if key not in _OBSERVATIONS}
        of_row = TableReader({**written, "date": date.min}, place_in(where, row, "rule", number))
        rule = read_rule(of_row)
        of_row.refuse_unknown()
        if of_row.problems:
            raise ValueError("; ".join(map(str, of_row.problems)))
        crop, note, seen = (str(row.get(key, "")) for key in _OBSERVATIONS)
        found.append(PublishedRule(rule, crop, note, seen, written))
    return tuple(found)


class Office(Frozen):
    """What an office has settled for itself."""

    rules: tuple[Rule, ...] = SHIPPED_RULES
    """The office's rules, then those that ship."""
    season_starts_on: tuple[int, int] = (1, 1)
    """Month and day from which a season is counted."""
    samples: tuple[Sought, ...] = ()
    """What the office looks for on leaf and fruit by plans of its own; see ``sampling.records``."""


def parse_office(
    table: Mapping[str, object], where: str = "thresholds.toml"
) -> tuple[Office | None, tuple[Problem, ...]]:
    """Read an office's thresholds.

    Args:
        table: The parsed TOML file, its decimal numbers as ``Decimal`` so that they stay exact.
        where: File name as problems show it.

    Returns:
        The office, its rules before those that ship, and no problems; or None and every problem found, each naming
        the rule and the key.
    """
    reader = TableReader(table, where)
    rules = reader.each("rule", read_rule, ids=set())
    season = _season(reader)
    reader.refuse_unknown()
    if reader.problems or season is None:
        return None, tuple(reader.problems)
    return Office((*rules, *SHIPPED_RULES), season), ()


def _season(reader: TableReader) -> tuple[int, int] | None:
    if not reader.has("season"):
        return (1, 1)
    with reader.inner("season") as inner:
        needed = 'month and day, starts_on = "03-01"' if isinstance(reader.value("season"), Mapping) else ""
        text = inner.month_day("starts_on", 'as starts_on = "03-01"', needed=needed)
    return (int(text[:2]), int(text[3:])) if text else None
