"""How far recounts agree with the first counts, in words and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from roundtui.domain.programme.farm import grouped
from roundtui.domain.round import recounts
from roundtui.domain.text import listed, several
from roundtui.report.text import WORDS, as_name, json_of


def agreement_json(
    found: recounts.Agreement, span: tuple[date, date], asked: Mapping[str, Sequence[str]]
) -> dict[str, Any]:
    """Agreement as JSON.

    Args:
        found: The agreement.
        span: First and last day.
        asked: Traps that are asked for a recount, by route.
    """
    return {
        "first": span[0].isoformat(),
        "on": span[1].isoformat(),
        "pairs": len(found.pairs),
        **json_of(found, "alike share share_interval mean_difference limits"),
        "least_pairs": recounts.LEAST_PAIRS,
        **json_of(found, "enough kappa"),
        "confidence": recounts.CONFIDENCE,
        "published": [
            {"share": share, "of": of, "source": recounts.PUBLISHED_SOURCE} for share, of in recounts.PUBLISHED
        ],
        "scouts": [
            {"first": first, "second": second, "pairs": len(one.pairs), **json_of(one, "alike mean_difference")}
            for (first, second), one in _by_people(found.pairs).items()
        ],
        "counts": [json_of(pair, "trap read_on first first_count second second_count") for pair in found.pairs],
        "asked": {route: list(traps) for route, traps in asked.items()},
    }


def quality_json(found: recounts.Quality) -> dict[str, Any]:
    """How the scouting was done, as JSON.

    Args:
        found: What was found.
    """
    shares = {
        what: {by: {key: json_of(s, "good of interval") for key, s in of.items()} for by, of in groups.items()}
        for what, groups in found.shares.items()
    }
    caught: dict[str, dict[str, Any]] = {
        species: {"moths": moths, "trap_days": days, "per_day": moths / days, "per_week": 7 * moths / days}
        | {"sterile": sterile, "sterile_to_wild": sterile / moths if sterile and moths else None}
        for species, (moths, days, sterile) in found.caught.items()
        if days
    }
    said = {"shares": shares, "failures": dict(found.failures), "caught": caught}
    return {"first": found.first.isoformat(), "on": found.on.isoformat(), **said}


_MISSING = dict(WORDS["no share"])


def quality_words(found: recounts.Quality) -> list[str]:
    """How the scouting was done, in lines.

    Args:
        found: What was found.
    """
    lines = [f"Quality of the scouting, {found.first} to {found.on}"]
    for what, missing in _MISSING.items():
        groups = found.shares.get(what)
        lines += ["", what.capitalize() if groups else f"{what.capitalize()}: {missing}"]
        for by, of in (groups or {}).items():
            for key, share in of.items():
                low, high = (round(100 * end) for end in share.interval)
                name = "all" if by == "all" else f"{by} {as_name(key)}"
                lines.append(f"  {name}: {share.good} of {share.of} ({low}-{high} %)")
        if what == recounts.PASSED and found.failures:
            named = (f"{word.replace('-', ' ')} {number}" for word, number in found.failures.items())
            lines.append(f"  failures: {', '.join(named)}")
    lines += ["", "Catch of valid readings, pooled"]
    for species, (moths, days, sterile) in found.caught.items():
        if days:
            rate = f"{moths / days:.2f} a trap a day, {7 * moths / days:.1f} a week"
            ratio = f", {sterile / moths:.3g} to 1" if sterile and moths else ""
            rate += f", {sterile} sterile{ratio}" if sterile else ""
            lines.append(f"  {as_name(species)}: {several(moths, 'insect')} in {days} trap-days, {rate}")
    return [*lines, "", "Intervals of 95 %, exact, as if each were drawn by itself."]


def agreement_words(
    found: recounts.Agreement, span: tuple[date, date], asked: Mapping[str, Sequence[str]] | None = None
) -> list[str]:
    """Agreement in sentences.

    Args:
        found: The agreement.
        span: First and last day.
        asked: Traps that are asked for a recount, by route.
    """
    lines = [f"Recounts, {span[0]} to {span[1]}: {several(len(found.pairs), 'catch', 'catches')} counted twice."]
    lines += [*_figures(found), *_people(found)]
    for route, traps in (asked or {}).items():
        named = listed(as_name(trap) for trap in traps)
        lines.append(f"Recount asked on the round {as_name(route)}: {named}.")
    return lines


def season_lines(found: recounts.Agreement) -> list[str]:
    """Agreement as the end of a season tells it; nothing where no catch was counted twice.

    Args:
        found: The agreement.
    """
    if not found.pairs:
        return []
    return [f"{several(len(found.pairs), 'catch', 'catches')} recounted by another person.", *_figures(found)]


def _figures(found: recounts.Agreement) -> Iterable[str]:
    if found.share is not None and found.share_interval is not None:
        lowest, highest = found.share_interval
        published = " and ".join(f"{100 * share:.0f} ({of})" for share, of in recounts.PUBLISHED)
        yield (
            f"Exactly alike: {found.alike} of {len(found.pairs)}, {100 * found.share:.0f} in 100 "
            f"({100 * lowest:.0f} to {100 * highest:.0f}). Published for unskilled counters: {published} in 100."
        )
    if found.mean_difference is not None:
        ends = "" if found.limits is None else f"; 95 of 100 lie from {found.limits[0]:+.1f} to {found.limits[1]:+.1f}"
        yield f"Recount less first count: {found.mean_difference:+.1f} on average{ends}."
    if not found.enough:
        yield from [f"Too few to say how far counters agree: it takes {recounts.LEAST_PAIRS}."] if found.pairs else []
    elif found.kappa is None:
        yield "Zero or not: nobody differed, so kappa says nothing."
    else:
        yield f"Agreement on zero or not, Cohen's kappa: {found.kappa:.2f}."


def _people(found: recounts.Agreement) -> list[str]:
    return [
        f"{as_name(second)} after {as_name(first)}: {one.alike} of {len(one.pairs)} alike, "
        f"{one.mean_difference or 0:+.1f} on average."
        for (first, second), one in _by_people(found.pairs).items()
    ]


def _by_people(pairs: Iterable[recounts.Pair]) -> dict[tuple[str, str], recounts.Agreement]:
    found = grouped(((pair.first, pair.second), pair) for pair in pairs)
    return {people: recounts.agreement(of) for people, of in sorted(found.items())}
