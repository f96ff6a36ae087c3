"""A summary made by hand, with something of everything in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from rich.console import RenderableType

from roundtui.domain.entries import NoReading, Notified
from roundtui.domain.figures.history import History, Observations
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import attention
from roundtui.domain.figures.unlikely import Slip, SlipKind
from roundtui.domain.figures.verdicts import (
    BlockRow,
    Caught,
    Conflict,
    NotRead,
    OlderFigureCall,
    RuleApplied,
    Status,
    Summary,
    Trouble,
    TroubleKind,
    Unlikely,
    UpkeepDue,
)
from roundtui.domain.programme.farm import Block, Farm, Programme
from roundtui.report.figures.sections import summary_page
from roundtui.store.figures.summary import DaySummary

ON = date(2026, 6, 10)
PROGRAMME = Programme(
    farms={
        "HF": Farm("HF", "Hollow Farm", grower="Ada Birch", phone="555-0101"),
        "LM": Farm("LM", "Long Meadow", grower="Bo Reed", phone="555-0102"),
        "NP": Farm("NP", "No Phone"),
    },
    blocks={
        "N": Block("N", "HF", "North", "apple"),
        "S": Block("S", "HF", "South slope behind the packing shed", "apple", disrupted=True),
        "P": Block("P", "LM", "Pears", "pear"),
        "Q": Block("Q", "NP", "Quarry", "peach"),
    },
)
CM_MEAN = RuleApplied("cm-mean", "mean", Fraction(5), "common practice, no source", None)
CAUGHT = (
    Caught("N3", 18, 12),
    Caught("N4", 1, 6),
)
"""What stands behind a row."""


def row(block: str, status: Status, **more: object) -> BlockRow:
    """A block row in which all that is not named is plain."""
    values: dict[str, object] = {
        "farm": PROGRAMME.farm_of(block),
        "block": block,
        "species": "CM",
        "hung": 4,
        "read": 4,
        "counted": 4,
        "mean_per_week": Fraction(5),
        "max_per_week": Fraction(12),
        "mean_with_suspect": Fraction(5),
        "edge_mean": None,
        "previous_per_week": Fraction(2),
        "cumulative": Fraction(31, 2),
        "band": (Fraction(3), Fraction(5)),
        "status": status,
        "thin": False,
        "rule": CM_MEAN,
        "weak_evidence": False,
        "stage": "71",
        "traps": CAUGHT,
    }
    return BlockRow(**(values | more))  # type: ignore[arg-type]


SUMMARY = Summary(
    on=ON,
    route="east",
    blocks=(
        row("N", Status.OVER, mean_with_suspect=Fraction(9, 2), counted=3, edge_mean=Fraction(7)),
        row(
            "P",
            Status.WITHIN,
            mean_per_week=Fraction(499, 100),
            rule=RuleApplied("cm-mean", "mean", Fraction(499, 100), "common practice, no source", None),
        ),
        row(
            "S",
            Status.BELOW,
            mean_per_week=Fraction(0),
            rule=RuleApplied("cm-mean", "mean", Fraction(0), "common practice, no source", None),
            weak_evidence=True,
            counted=2,
            hung=2,
            read=2,
            thin=True,
        ),
        row(
            "N",
            Status.CANNOT_TELL,
            species="OFM",
            rule=RuleApplied("ofm-run", "running", None, "The office, spring meeting", date(2026, 3, 1)),
            why="a week in between was not read",
        ),
        row("S", Status.NO_RULE, species="OBLR", rule=None, band=None, why="no rule for OBLR fits"),
        row(
            "Q",
            Status.NOT_READ,
            species="OFM",
            read=0,
            counted=0,
            mean_per_week=None,
            max_per_week=None,
            mean_with_suspect=None,
            previous_per_week=None,
            cumulative=None,
            rule=None,
            band=None,
            stage=None,
            traps=(),
        ),
    ),
    integrity=(
        Trouble(TroubleKind.SWAPPED_LURES, "HF", "N", "N2", "CM", "OFM", date(2026, 5, 4), "N10"),
        Trouble(TroubleKind.SWAPPED_LURES, "HF", "N", "N10", "OFM", "CM", date(2026, 5, 4), "N2"),
        Trouble(TroubleKind.WRONG_LURE, "HF", "S", "S1", "CM", "OBLR", date(2026, 5, 20)),
        Trouble(TroubleKind.NO_LURE, "LM", "P", "P1", "CM", None, None),
        Trouble(TroubleKind.SCENTED_BODY, "LM", "P", "P2", "CM", "OFM", date(2025, 6, 2)),
    ),
    upkeep=(
        UpkeepDue("N2", "lure", "age", 3, None, since=date(2026, 4, 1), life_days=42, assumed=True),
        UpkeepDue("N3", "liner", "catch", 0, 31, since=date(2026, 5, 27)),
        UpkeepDue("Q1", "kill-strip", "age", -5, None, since=date(2026, 5, 1), life_days=45),
    ),
    not_read=(
        NotRead("Q1", NoReading.SKIPPED, "Q", "mud to the axles"),
        NotRead("Q2", None, "Q"),
        NotRead("Q3", NoReading.MISSING, "Q"),
    ),
    unlikely=(Unlikely("N3", 120, "N", ON, Slip(SlipKind.ZERO, 12, 3.5)),),
    conflicts=(Conflict("S2", date(2026, 6, 9), ("id-1", "id-2"), "S", (("Ana", 4), ("Ben", 6))),),
    older_figure_calls=(
        OlderFigureCall("P", "CM", date(2026, 6, 3), "below", Status.OVER, date(2026, 6, 4), "Cleo", "phone"),
    ),
)


def noticed(summary: Summary, programme: Programme) -> Summary:
    """A summary with what needs attention in it."""
    return replace(summary, attention=attention(summary, programme, History(), Observations(), Office()))


SUMMARY = noticed(SUMMARY, PROGRAMME)
NOTIFIED = (
    Notified(
        block="N",
        species="CM",
        round_on=ON,
        status="over",
        notified_on=date(2026, 6, 11),
        by="Cleo",
        how="phone",
    ),
)


def whole_page(
    summary: Summary = SUMMARY,
    programme: Programme = PROGRAMME,
    *,
    notified: Sequence[Notified] = NOTIFIED,
    width: int = 80,
) -> list[RenderableType]:
    """The whole page of a summary."""
    made = DaySummary(summary, programme, History(notified=notified), Observations(), Office())
    return summary_page(made, width=width)
