from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

from roundtui.domain.figures.verdicts import Summary
from roundtui.report.figures.summary import summary_json

from .made import SUMMARY

TOP = ["on", "blocks", "integrity", "upkeep", "not_read", "unlikely", "conflicts", "long_readings", "attention"]
BLOCK = [
    "farm",
    "block",
    "species",
    "hung",
    "read",
    "counted",
    "mean_per_week",
    "max_per_week",
    "mean_with_suspect",
    "edge_mean",
    "previous_per_week",
    "cumulative",
    "band",
    "status",
    "thin",
    "rule",
    "weak_evidence",
    "stage",
    "rules",
    "assumed",
    "level_low",
    "level_high",
    "chance",
    "certainty",
]


def test_the_keys_are_those_of_the_contract_and_no_others() -> None:
    said = summary_json(SUMMARY)

    assert list(said) == TOP
    assert all(list(row) == BLOCK for row in said["blocks"])
    assert list(said["blocks"][0]["rule"]) == ["id", "kind", "value", "source", "date"]
    assert {tuple(row) for row in said["integrity"]} == {
        ("kind", "farm", "block", "trap", "species", "found", "since", "partner")
    }
    assert {tuple(row) for row in said["upkeep"]} == {("trap", "item", "why", "days_overdue", "catch")}
    assert {tuple(row) for row in said["not_read"]} == {("trap", "block", "reason")}
    assert said["unlikely"] == [{"trap": "N3", "count": 120}]
    assert said["conflicts"] == [{"trap": "S2", "read_on": "2026-06-09", "entries": ["id-1", "id-2"]}]


def test_figures_are_floats_dates_are_iso_and_what_does_not_exist_is_null() -> None:
    said = json.loads(json.dumps(summary_json(SUMMARY)))
    over, unread = said["blocks"][0], said["blocks"][-1]

    assert said["on"] == "2026-06-10"
    assert (over["mean_per_week"], over["mean_with_suspect"], over["band"]) == (5.0, 4.5, [3.0, 5.0])
    assert over["rule"] == {
        "id": "cm-mean",
        "kind": "mean",
        "value": 5.0,
        "source": "common practice, no source",
        "date": None,
    }
    assert over["edge_mean"] == 7.0
    assert (unread["mean_per_week"], unread["band"], unread["rule"], unread["stage"]) == (None, None, None, None)
    assert said["blocks"][3]["rule"]["value"] is None
    assert said["blocks"][3]["rule"]["date"] == "2026-03-01"
    assert said["blocks"][2]["mean_per_week"] == 0.0
    assert said["integrity"][0]["partner"] == "N10"
    assert said["integrity"][3] == {
        "kind": "no-lure",
        "farm": "LM",
        "block": "P",
        "trap": "P1",
        "species": "CM",
        "found": None,
        "since": None,
        "partner": None,
    }
    assert [row["reason"] for row in said["not_read"]] == ["skipped", None, "missing"]
    assert [(row["days_overdue"], row["catch"]) for row in said["upkeep"]] == [(3, None), (0, 31), (-5, None)]


def test_an_empty_summary_says_so_with_the_same_keys() -> None:
    assert summary_json(Summary(on=date(2026, 1, 5))) == {key: [] for key in TOP} | {"on": "2026-01-05"}


def test_who_was_called_on_an_older_figure_is_no_part_of_the_contract() -> None:
    assert summary_json(SUMMARY) == summary_json(replace(SUMMARY, older_figure_calls=(), route=None))
