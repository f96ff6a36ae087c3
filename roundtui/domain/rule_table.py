"""A threshold rule out of the table that an office wrote, or the problems in it."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from roundtui.domain.plain import plain
from roundtui.domain.rule import (
    AT_OR_OVER,
    BIOFIX,
    HANGING,
    HOLD,
    OVER_ONLY,
    PERIODS,
    RESTART,
    ROLLING,
    Rule,
    RuleKind,
    kind_word,
)
from roundtui.domain.species import SPECIES, species_code
from roundtui.domain.stages import ANY_CROP
from roundtui.domain.table import TableReader, shown
from roundtui.errors import Problem


def parse_rule(table: Mapping[str, object], number: int, where: str) -> tuple[Rule | None, list[Problem]]:
    """Read one rule.

    Args:
        table: The rule as written.
        number: Its place in the file, counted from 1.
        where: File name as problems show it.

    Returns:
        The rule and no problems; or None and every problem found.
    """
    name = table.get("id")
    where = f"{where}, rule {number}" + (f" ({plain(name, 40)})" if isinstance(name, str) else "")
    reader = TableReader(table, where)
    id_ = reader.text("id", needed="give the rule a short name of its own")
    species = _species(reader)
    kind = reader.choice("kind", list(RuleKind), needed=True)
    timing_only = reader.yes_no("timing_only") or False
    band = _band(reader, needed=not timing_only)
    source = reader.text("source", needed="say who published it, or that it is the office's own practice")
    dated = reader.day("date", needed="day of the source, or on which the office took it up, as date = 2025-03-01")
    rule = Rule(
        id=id_ or "",
        species=species or "",
        kind=RuleKind(kind) if kind else RuleKind.MEAN,
        low=band[0],
        high=band[1],
        source=source or "",
        date=dated,
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
    reader.refuse_unknown()
    return (None if reader.problems else rule), reader.problems


def _species(reader: TableReader) -> str | None:
    listed = ", ".join(SPECIES)
    text = reader.text("species", needed=f"one of {listed}")
    if text is None or text in SPECIES:
        return text
    meant = species_code(text)
    reader.problem("species", f"{shown(text)} is unknown", f"write {meant}" if meant else f"one of {listed}")
    return None


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
