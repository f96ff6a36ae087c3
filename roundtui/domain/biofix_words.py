"""A biofix proposal in words: what a rule asks, and what was found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundtui.domain.biofix_rules import TRAP, BiofixKind, BiofixRule
from roundtui.domain.species import SPECIES

_COUNTS = ("no", "one", "two", "three", "four", "five", "six")
_SINGULAR = {"moths": "moth", "flies": "fly", "males": "male"}
_MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Look:
    """One look at what a rule counts: a round of the block, or one reading of one trap."""

    on: date
    starts: tuple[date | None, ...]
    ends: tuple[date, ...]
    moths: Fraction
    traps: int
    caught_in: int
    """Traps with as many moths as the rule asks of a trap."""
    first_catch: date
    unknown: bool
    """Nothing in it may be counted."""


def wanted(rule: BiofixRule) -> str:
    """What a rule asks on each reading of its run."""
    where = ""
    if rule.kind is BiofixKind.TRAPS_OF:
        where = f" in {rule.traps} of {rule.of or rule.traps} traps"
    elif rule.kind is BiofixKind.MEAN:
        where = " a trap on the average"
    elif rule.scope == TRAP:
        where = " in one trap"
    return amount(rule) + where


def running(rule: BiofixRule) -> str:
    """How many readings a rule asks: reading, two readings running …"""
    if rule.readings == 1:
        return "reading"
    count = _COUNTS[rule.readings] if rule.readings < len(_COUNTS) else str(rule.readings)
    return f"{count} readings running"


def amount(rule: BiofixRule) -> str:
    """The catch a rule asks: 2 moths or more, more than 1 moth."""
    asked = insects(rule, rule.moths)
    return f"more than {asked}" if rule.more_than else f"{asked} or more"


def named(rule: BiofixRule, run: Sequence[Look]) -> str:
    """The readings of a run with their dates and catches."""

    def said(look: Look) -> str:
        if rule.kind is BiofixKind.TRAPS_OF:
            return f"{look.first_catch} ({look.caught_in} of {look.traps} traps)"
        if rule.kind is BiofixKind.MEAN:
            return f"{look.first_catch} ({number(look.moths / look.traps)} a trap)"
        return f"{look.first_catch} ({insects(rule, look.moths)})"

    return ", ".join(said(look) for look in run[:_MOST_NAMED]) + (" …" if len(run) > _MOST_NAMED else "")


def insects(rule: BiofixRule, count: Fraction) -> str:
    """A number of what is counted in the species' trap: 1 moth, 3 flies."""
    species = SPECIES.get(rule.species)
    many = species.insects if species else "moths"
    return f"{number(count)} {_SINGULAR.get(many, many) if count == 1 else many}"


def number(value: Fraction) -> str:
    """A catch as people write it: whole, or with three digits."""
    return str(value) if value.denominator == 1 else f"{float(value):.3g}"
