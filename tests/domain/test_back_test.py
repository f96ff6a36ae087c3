"""The outlook against every fifth of ninety real years: it beats plain rivals, and its range holds as it says.

All years: ``python -m tests.long.back_testing``.
"""

from __future__ import annotations

import pytest

from tests.long import back_testing
from tests.long.back_testing import COVERAGES, HORIZONS, Look, by_event, noise, off_by, rivals, share


@pytest.fixture(scope="module")
def looks() -> list[Look]:
    return back_testing.run(every=5)


def test_years_of_nine_decades_were_asked_for_every_event(looks: list[Look]) -> None:
    for seen in by_event(looks).values():
        for ahead in HORIZONS:
            assert len({look.year for look in seen if look.ahead == ahead}) > 15


def test_thirty_days_ahead_it_beats_both_rivals_for_every_event(looks: list[Look]) -> None:
    for event, seen in by_event(looks).items():
        assert off_by(seen, 30) < min(rivals(seen, 30)), event


def test_the_nearer_the_event_the_smaller_the_error(looks: list[Look]) -> None:
    for seen in by_event(looks).values():
        assert off_by(seen, 60) > off_by(seen, 30) > off_by(seen, 10)


@pytest.mark.parametrize("coverage", COVERAGES)
@pytest.mark.parametrize("ahead", HORIZONS)
def test_a_range_holds_as_often_as_it_says(looks: list[Look], coverage: float, ahead: int) -> None:
    seen = [look for look in looks if look.ahead == ahead]
    assert abs(share(seen, coverage) - coverage) < noise(coverage, len({look.year for look in seen}))


def test_a_range_from_few_years_holds_too(looks: list[Look]) -> None:
    seen = [look for look in looks if look.years < 10]
    assert abs(share(seen, 0.8) - 0.8) < noise(0.8, len({look.year for look in seen}))
