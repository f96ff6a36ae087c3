"""Random farms through the store and back: what a summary reads of the record is enough, and every number is right."""

from __future__ import annotations

from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from random import Random

import pytest

from roundtui.report.figures.summary import summary_json
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office

from .random_farm import FIRST, LAST, NOW, RandomFarm
from .recount import Recount, Setup
from .test_recount import entries, figures, sanitize

Differences = dict[str, dict[str, tuple[object, object]]]
SEEN = {"over", "within", "cannot-tell", "few-traps", "suspect"}
"""Kinds of attention that follow from figures alone; samples and treatments have judges of their own."""


def differences(folder: Path, seed: int, days: int) -> Differences:
    """Figures of some days on which product and judge differ; half of the days are asked for one route."""
    found: Differences = {}
    office, setup = read_office(folder), Setup(folder)
    first = min(row.hung_on or FIRST for row in setup.traps)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        record = entries(conn, "visits", "read_on"), entries(conn, "stages", "seen_on")
        notified = {
            "biofixes": [(b, s, year, date.fromisoformat(day)) for b, s, year, day in conn.execute(BIOFIXES)],
            "treated": [(b, s, date.fromisoformat(day)) for b, s, day in conn.execute(TREATED)],
        }
        for number in range(days):
            chance = Random(seed + number)
            on = first + timedelta(days=chance.randint(10, (LAST - first).days + 20))
            route = chance.choice(("", "r0"))
            made = summary_of(conn, office, on, route=route or None).summary
            again = Recount(setup, *record, on, **notified)
            counted = again.summary(route)
            product, judge = figures(summary_json(made)), figures(sanitize(counted))
            product["attention"] = {
                (one.kind.value, one.block, one.species, one.trap or "")
                for one in made.attention
                if one.kind.value in SEEN
            }
            judge["attention"] = again.attention(counted)
            differ = {
                key: (product.get(key, "missing"), judge.get(key, "missing"))
                for key in sorted(product.keys() | judge.keys())
                # What is unlikely is settled on the sample: at its margin it is a matter of taste, not of counting.
                if not key.startswith("unlikely") and product.get(key, "missing") != judge.get(key, "missing")
            }
            if differ:
                found[f"{on} {route}"] = differ
    return found


BIOFIXES = "SELECT block, species, season, day FROM present_biofixes WHERE generation = 1 ORDER BY recorded_at DESC"
TREATED = "SELECT block, species, treated_on FROM present_treatments"


@pytest.mark.parametrize("seed", [0, 5, 14, 78, 85, 94])
def test_a_random_farm_is_counted_alike_twice(seed: int, tmp_path: Path) -> None:
    RandomFarm(tmp_path, seed)

    assert differences(tmp_path, seed, 6) == {}


@pytest.mark.parametrize("seeds", [range(at, at + 10) for at in range(0, 50, 10)], ids=str)
def test_fifty_random_seasons_are_judged_alike_twice(seeds: range, tmp_path: Path) -> None:
    """Running weeks, loads, kinds, markets, sums since biofix and by degree-days, holds, routes, attention."""
    found = {}
    for seed in seeds:
        folder = tmp_path / str(seed)
        folder.mkdir()
        RandomFarm(folder, seed, small=True)
        found[seed] = differences(folder, seed, 1)

    assert {seed: differ for seed, differ in found.items() if differ} == {}
