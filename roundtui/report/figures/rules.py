"""Threshold rules in words and as JSON: what judges, and what was seen published and can be chosen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from roundtui.domain.figures.rules import HANGING, OVER_ONLY, PERIODS, ROLLING, PublishedRule, Rule, RuleKind
from roundtui.domain.text import sanitize
from roundtui.report.text import Line, Section, heading, json_of, paragraph, stacked, titled

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WIDTH = 240


def rules_tables(judging: Sequence[Rule], published: Sequence[PublishedRule]) -> Section:
    """What judges and what can be chosen, each rule with its source.

    Args:
        judging: The office's rules, then those that ship.
        published: Rules seen published.
    """
    sections: list[Section] = []
    for title, rules in (
        ("Rules of the office", [rule for rule in judging if rule.office]),
        ("Rules that ship, where none of the office fits", [rule for rule in judging if not rule.office]),
    ):
        sections.append(titled(title, (line for rule in rules for line in _lines(rule))))
    said: list[Line] = []
    for one in published:
        details = "; ".join(filter(None, (one.rule.region, one.crop, one.note)))
        said += _lines(one.rule, f"{details}. Read: {one.seen}")
    return stacked([*sections, titled("Rules published, to choose from: roundtui rules --copy ID", said)])


def _lines(rule: Rule, details: str = "") -> list[Line]:
    said = f" {details}." if details else ""
    source = sanitize(rule.source, _WIDTH).removesuffix(".")
    return [
        heading(f"{sanitize(rule.id, 60)}: {sanitize(rule.species, 20)}, {rule_words(rule)}"),
        paragraph(f"{source}.{sanitize(said, _WIDTH)}", 4),
    ]


def rule_words(rule: Rule) -> str:
    """What a rule compares with what, and where it holds, in one line.

    Args:
        rule: The rule.
    """
    if rule.timing_only:
        return ", ".join(("the catch does not decide", *_where(rule)))
    ends = " to ".join(dict.fromkeys(f"{float(end):g}" for end in (rule.low, rule.high)))
    band = f"more than {ends}" if rule.compare == OVER_ONLY else ends if rule.low != rule.high else f"{ends} or more"
    return ", ".join((f"{_FIGURES[rule.kind](rule)} {band}", *_where(rule)))


def _sum(rule: Rule) -> str:
    if rule.since == ROLLING:
        return f"sum of {rule.days} days,"
    if rule.since == PERIODS:
        return f"sum of each {float(rule.degree_days or 0):g} degree-days,"
    since = {HANGING: "hanging", None: "the season's start"}.get(rule.since, str(rule.since))
    after = f", {rule.after_treatment} after a treatment" if rule.after_treatment else ""
    days = f" for {rule.days} days" if after and rule.days else ""
    return f"sum since {since}{after}{days},"


_FIGURES = {
    RuleKind.MEAN: lambda _: "mean",
    RuleKind.SINGLE_TRAP: lambda rule: f"any trap in each of {rule.weeks} weeks" if rule.weeks else "any trap",
    RuleKind.RUNNING: lambda rule: f"mean in each of {rule.weeks} weeks",
    RuleKind.CUMULATIVE: _sum,
}


def _where(rule: Rule) -> Iterable[str]:
    if rule.months:
        yield " ".join(_MONTHS[month - 1] for month in rule.months)
    if rule.disrupted is not None:
        yield "under disruption" if rule.disrupted else "without disruption"
    if rule.load_mg:
        yield f"lures of {_span(rule.load_mg)} mg"
    if rule.lure_kind or rule.style:
        yield " ".join(filter(None, (" or ".join(rule.lure_kind), " or ".join(rule.style))))
    if rule.ha_per_trap:
        yield f"a trap to {_span(rule.ha_per_trap)} ha"
    if rule.market:
        yield f"fruit for {sanitize(rule.market, 40)}"
    if rule.edge:
        yield "edge traps too"


def _span(ends: tuple[Fraction, Fraction]) -> str:
    return "–".join(dict.fromkeys(f"{float(end):.3g}" for end in ends))


def rules_json(judging: Sequence[Rule], published: Sequence[PublishedRule]) -> dict[str, Any]:
    """What ``rules --json`` prints.

    Args:
        judging: The office's rules, then those that ship.
        published: Rules seen published.
    """
    return {
        "judging": [{**_rule(rule), "office": rule.office} for rule in judging],
        "published": [{**_rule(one.rule), **json_of(one, "crop note seen")} for one in published],
    }


def _rule(rule: Rule) -> dict[str, Any]:
    return {
        **json_of(rule, "id species kind"),
        "words": rule_words(rule),
        "low": None if rule.timing_only else float(rule.low),
        "high": None if rule.timing_only else float(rule.high),
        **json_of(rule, "compare timing_only region source"),
    }
