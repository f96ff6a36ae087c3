"""What ABOUT.txt tells of the samples, treatments, vials, parts and lures of the sample."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
from click.testing import CliRunner

from roundtui.cli import main
from roundtui.store.demo import Demo
from tests.sample.programme import RUNNING_DAY

ON = RUNNING_DAY.isoformat()


def asked(demo: Demo, *words: str) -> Any:
    done = CliRunner().invoke(main, [words[0], str(demo.folder), *words[1:], "--on", ON, "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_a_leaf_sample_stops_below_and_another_over(demo: Demo) -> None:
    samples = {(one["block"], one["pest"]): one for one in asked(demo, "samples") if one["kind"] == "leaf"}
    assert [samples[block, "OBLR"]["verdict"] for block in ("MILL", "BARN")] == ["below", "over"]
    assert samples["KILN", "ERM"]["verdict"] == "below"
    assert (samples["GATE", "OBLR"]["verdict"], samples["GATE", "OBLR"]["more"]) == ("more", 30)
    low, high = samples["TARN", "ERM"]["per_unit_by_presence"]
    assert 1 < low < high < 5
    assert samples["LANE", "scab"]["verdict"] == "no-plan"
    low, high = samples["LANE", "scab"]["interval_percent"]
    assert low < 4 < high


def test_the_disrupted_block_without_a_moth_has_entries_in_its_fruit(demo: Demo) -> None:
    fruit = [one for one in asked(demo, "samples") if (one["block"], one["kind"]) == ("POND", "fruit")]
    assert {(one["sampled_on"], one["looked"], one["entries"]) for one in fruit} == {
        ("2025-06-30", 100, 0),
        ("2025-07-14", 300, 6),
    }
    (pond,) = [row for row in asked(demo, "summary")["blocks"] if row["block"] == "POND"]
    assert (pond["mean_per_week"], pond["weak_evidence"]) == (0, True)


@pytest.mark.parametrize(
    ("block", "word"),
    [("KILN", "coming down"), ("MILL", "too little to say"), ("GATE", "too early to say")],
)
def test_each_post_treatment_check_ends_in_its_word(demo: Demo, block: str, word: str) -> None:
    (watched,) = [one for one in asked(demo, "treatments") if one["block"] == block]
    assert watched["verdict"] == word


def test_a_vial_waits_for_a_name(demo: Demo) -> None:
    vials = {one["vial"]: one for one in asked(demo, "vials") if one["vial"]}
    assert (vials["V-3"]["trap"], vials["V-3"]["in_count"], vials["V-3"]["identified_on"]) == ("G4", True, None)
    assert date.fromisoformat(vials["V-1"]["identified_on"]) == date(2025, 7, 2)


def test_lures_run_out_and_one_lot_was_never_counted(demo: Demo) -> None:
    lots = {one["lot"]: one for one in asked(demo, "stock")["lots"]}
    assert lots["CM25A"]["left"] == 9
    assert lots["OBLR25A"]["left"] is None


def test_second_counts_are_alike_most_of_the_time(demo: Demo) -> None:
    found = asked(demo, "agreement")
    assert found["pairs"] == 21
