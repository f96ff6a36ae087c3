"""The outlook against every sixth of ninety real years: it beats plain rivals, and its range holds as it says.

All years: ``python -m tests.long.back_testing``.
"""

from __future__ import annotations

import pytest

from tests.long import back_testing
from tests.long.back_testing import COVERAGES, HORIZONS, Sample, by_event, noise, off_by, rivals, share


@pytest.fixture(scope="module")
def samples() -> list[Sample]:
    return back_testing.run(every=6)


def test_years_of_nine_decades_were_asked_for_every_event(samples: list[Sample]) -> None:
    for seen in by_event(samples).values():
        for ahead in HORIZONS:
            assert len({sample.year for sample in seen if sample.ahead == ahead}) > 13


def test_thirty_days_ahead_it_beats_both_rivals_for_every_event(samples: list[Sample]) -> None:
    for event, seen in by_event(samples).items():
        assert off_by(seen, 30) < min(rivals(seen, 30)), event


def test_the_nearer_the_event_the_smaller_the_error(samples: list[Sample]) -> None:
    assert off_by(samples, 60) > off_by(samples, 30) > off_by(samples, 10)
    for event, seen in by_event(samples).items():
        assert off_by(seen, 60) > off_by(seen, 10), event


@pytest.mark.parametrize("coverage", COVERAGES)
@pytest.mark.parametrize("ahead", HORIZONS)
def test_a_range_holds_as_often_as_it_says(samples: list[Sample], coverage: float, ahead: int) -> None:
    seen = [sample for sample in samples if sample.ahead == ahead]
    assert abs(share(seen, coverage) - coverage) < noise(coverage, len({sample.year for sample in seen}))


def test_a_range_from_few_years_holds_too(samples: list[Sample]) -> None:
    seen = [sample for sample in samples if sample.years < 10]
    assert abs(share(seen, 0.8) - 0.8) < noise(0.8, len({sample.year for sample in seen}))
