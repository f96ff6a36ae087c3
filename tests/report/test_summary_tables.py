from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pytest
from rich.cells import cell_len
from rich.console import Console

from roundtui.domain.figures.verdicts import Attention, AttentionKind, NotRead, Status, Summary
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.report.figures.summary import MARKS, attention_section, suspect_words
from roundtui.report.text import Line, Names

from .made import NOTIFIED, ON, PROGRAMME, SUMMARY, noticed, row, whole_page


def printed(
    summary: Summary = SUMMARY, programme: Programme = PROGRAMME, *, width: int = 80, colour: bool = False
) -> str:
    console = Console(
        width=width, file=io.StringIO(), force_terminal=colour, color_system="truecolor" if colour else None
    )
    for part in whole_page(summary, programme, width=width):
        console.print(part)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def said(text: str) -> str:
    """The words of a page, whatever its lines."""
    return " ".join(text.split())


def test_what_needs_a_hand_stands_above_the_figures_and_over_above_within_and_below() -> None:
    page = printed()
    order = [
        "Suspect traps",
        "Two counts of one trap on one day",
        "Called on an older figure",
        "Unlikely counts",
        "Over threshold",
        "Within: between the two numbers of the threshold",
        "Below threshold",
        "Cannot tell",
        "No rule fits",
        "Not read\n",
        "Rules used",
        "Whom to call",
        "Not read: 3 traps",
        "Upkeep",
        "Before anything is done",
    ]
    lines = page.replace(" \n", "\n")
    places = [lines.find(title) for title in order]

    assert -1 not in places
    assert places == sorted(places)


def test_a_block_that_nobody_read_is_never_under_nothing() -> None:
    unread = replace(SUMMARY.blocks[0], status=Status.NOT_READ)
    blocks = tuple(replace(row, status=Status.BELOW) for row in SUMMARY.blocks[1:])
    words = said(printed(replace(SUMMARY, attention=(), blocks=(unread, *blocks))))
    assert f"Needs attention: nothing in the blocks read; 1 of {len(blocks) + 1} not read ○ Not read: " in words
    assert "Needs attention: nothing in" not in said(printed(replace(SUMMARY, attention=(), blocks=blocks)))


def test_troubles_are_told_in_sentences_with_since_when_and_what_to_do_and_a_pair_once() -> None:
    page = said(printed())

    assert (
        "! Swapped lures: N2 and N10 (OFM), since Mon 4 May [N North, Hollow Farm]. Put in each species' own lure, "
        "new, and a clean body" in page
    )
    assert page.count("! Swapped lures") == 1
    assert "! Wrong lure: S1 (OBLR), since Wed 20 May [" in page
    assert "Put in a lure for CM and a clean body" in page
    assert "! No lure: P1 [P Pears, Long Meadow]. Put in a lure for CM." in page
    assert (
        "! Contaminated body: P2 (OFM), since Mon 2 Jun 2025 [P Pears, Long Meadow]. Replace it by a clean body."
        in page
    )
    assert "! S2, Tue 9 Jun: two counts, 4 by Ana and 6 by Ben [S South slope" in page
    assert suspect_words(SUMMARY.integrity) == "N2 N10 swapped lures, S1 wrong lure, P1 no lure, P2 contaminated body"
    assert suspect_words(()) == ""


def test_a_pair_with_two_dates_names_both() -> None:
    first, second, *_ = SUMMARY.integrity
    page = said(printed(replace(SUMMARY, integrity=(first, replace(second, since=date(2026, 5, 11))))))

    assert "Swapped lures: N2 and N10 (OFM), since Mon 4 May and Mon 11 May" in page


def test_no_figure_stands_without_traps_days_rule_and_source() -> None:
    lines = printed().splitlines()
    over = next(line.split() for line in lines if line.startswith(" ▲ ") and "CM" in line.split())

    assert over == ["▲", "over", "N", "North", "CM", "5.0", "████████|", "3–5", "3/4", "6–12"]
    page = said(printed())
    assert "Rule mean of the block 5.0, exactly the upper number, counts as over (rule cm-mean)" in page
    assert (
        "Counted 19 moths in 3 of 4 traps: N3 18 in 12 d (unlikely: 120? 12 would fit (3.5 expected)), N4 1 in 6 d"
        in page
    )
    assert "edge traps 7.0" in page
    assert "cm-mean: the mean of the block, 3–5. Source: common practice, no source." in page
    assert "ofm-run: the lowest of the weeks in a row, 3–5. Source: The office, spring meeting, Sun 1 Mar 2026." in page


def test_a_figure_just_under_the_edge_is_not_rounded_onto_it() -> None:
    assert any("4.99" in line for line in printed().splitlines() if line.startswith(" ◆ "))


def test_a_trap_out_of_the_mean_is_named_with_its_reason_at_its_block() -> None:
    traps = (Trap("N2", "N", "CM"), Trap("S2", "S", "CM"), Trap("Q1", "Q", "OFM"), Trap("Q2", "Q", "OFM"))
    page = said(printed(programme=replace(PROGRAMME, traps=traps)))

    assert "Left out N2 swapped lures; with the suspect traps 4.5; edge traps 7.0" in page
    assert "Left out S1 wrong lure; S2 two counts, 4 by Ana and 6 by Ben" in page
    assert "Left out Q1 skipped (mud to the axles); Q2 no entry" in page


def test_a_sample_says_of_which_sign_it_is_where_the_traps_say_another() -> None:
    """The traps of P say within, its fruit is over its plan: the two are named apart."""
    words = "fruit sample over its plan: 9 of 600 fruit injured (CM), 2026-06-09"
    sample = Attention(AttentionKind.SAMPLE, "LM", "P", "CM", None, words)
    page = said(printed(replace(SUMMARY, attention=(*SUMMARY.attention, sample))))

    assert "Sample traps say within, the fruit sample over its plan: 9 of 600 fruit injured (CM), Tue 9 Jun" in page
    assert "◆ P CM ! P1 ! P2 ! P fruit" in page


def test_why_a_status_is_no_comparison_stands_before_its_rule() -> None:
    page = said(printed())

    assert "Why a week in between was not read Rule lowest of the weeks in a row: cannot be told" in page
    assert "Why no rule for OBLR fits Counted" in page


def test_a_figure_that_does_not_exist_is_no_zero() -> None:
    lines = printed().splitlines()
    unread = next(line.split() for line in lines if line.startswith(" ○ ") and "Quarry" in line)

    assert unread == ["○", "not", "read", "Q", "Quarry", "OFM", "-", "0/4", "–"]


def test_the_weak_evidence_of_a_disrupted_block_asks_for_a_sample_at_the_fruit() -> None:
    assert said(printed()).count("under mating disruption a low catch is weak evidence; check the fruit") == 1


def test_growers_to_call_stand_with_phone_and_what_they_were_told() -> None:
    page = said(printed())

    assert "[x] Hollow Farm 555-0101 Ada Birch Thu 11 Jun, phone" in page
    assert "Call made on Thu 11 Jun by Cleo, phone. N North, CM: over its threshold" in page
    assert "[ ] Long Meadow 555-0102 Bo Reed ! older figure ◆ P CM" in page, "told otherwise: to be called again"
    assert "the record now says over. P Pears, CM: between its two numbers (3 and 5)" in page
    assert "P CM was told below on Thu 4 Jun by Cleo, phone; the record now says over. Bo Reed, 555-0102." in page


def test_a_telling_of_another_round_or_species_does_not_count() -> None:
    for other in (
        replace(NOTIFIED[0], round_on=date(2026, 6, 3)),
        replace(NOTIFIED[0], species="OFM"),
        replace(NOTIFIED[0], block="S"),
    ):
        parts = whole_page(
            noticed(Summary(on=ON, blocks=(row("N", Status.OVER),)), PROGRAMME), PROGRAMME, notified=(other,)
        )
        console = Console(width=80, file=io.StringIO())
        for part in parts:
            console.print(part)
        assert isinstance(console.file, io.StringIO)
        assert "No call made yet." in console.file.getvalue()


def test_a_grower_without_a_phone_is_named_as_such() -> None:
    page = said(printed(noticed(Summary(on=ON, blocks=(row("Q", Status.OVER),)), PROGRAMME)))

    assert "grower not on record, no phone on record. No call made yet" in page


def test_what_was_not_read_is_listed_with_its_reason_and_no_entry_is_its_own() -> None:
    assert "Q Quarry, No Phone: Q1 skipped (mud to the axles); Q2 no entry; Q3 missing." in said(printed())


def test_upkeep_says_how_late_and_what_is_assumed() -> None:
    page = said(printed())

    assert "! N2 lure 3 days over" in page
    assert "! N3 liner now 31 moths on it" in page
    assert "Q1 kill-strip in 5 days" in page
    assert "assumed: the usual life of the species" in page
    assert "gloves" in page


def test_every_caution_stands_below_even_an_empty_summary() -> None:
    page = said(printed(Summary(on=ON), Programme()))

    assert "No trap hung in these seven days." in page
    for caution in SUMMARY_CAUTIONS:
        assert said(caution) in page


@pytest.mark.parametrize("width", [80, 120])
def test_no_line_is_wider_than_the_page(width: int) -> None:
    assert max(cell_len(line) for line in printed(width=width).splitlines()) <= width


def test_colour_adds_nothing_that_the_words_do_not_say() -> None:
    console = Console(width=80, file=io.StringIO(), force_terminal=True, no_color=True)
    coloured = Console(width=80, record=True, file=io.StringIO(), force_terminal=True, color_system="truecolor")
    for part in whole_page():
        coloured.print(part)
        console.print(part)

    assert coloured.export_text() == printed()
    assert len(set(MARKS.values())) == len(Status)


HOSTILE = [
    "[bold red]Farm[/]",
    "[/]",
    "a\x1b[2J\x07b",
    "abc\u202edef",
    "=1+1",
    "x" * 10_000,
    "line\nbreak\r",
    ":smile:",
    "\u0301" * 500,
]


@pytest.mark.parametrize("text", HOSTILE)
def test_text_from_people_shows_as_text_and_changes_nothing_else(text: str) -> None:
    programme = Programme(
        farms={code: replace(farm, name=text, grower=text, phone=text) for code, farm in PROGRAMME.farms.items()},
        blocks={code: replace(block, name=text) for code, block in PROGRAMME.blocks.items()},
    )
    rows = tuple(
        replace(
            block,
            why=text,
            species=text,
            stage=text,
            rule=block.rule and replace(block.rule, id=text, source=text, kind=text),
        )
        for block in SUMMARY.blocks
    )
    summary = replace(
        SUMMARY,
        blocks=rows,
        route=text,
        integrity=tuple(replace(trouble, trap=text, species=text, found=text) for trouble in SUMMARY.integrity),
        conflicts=tuple(replace(conflict, trap=text, counts=((text, 4),)) for conflict in SUMMARY.conflicts),
        older_figure_calls=tuple(
            replace(entry, notified=text, by=text, how=text, species=text) for entry in SUMMARY.older_figure_calls
        ),
        not_read=(NotRead(text, None, "Q", text), NotRead("Q2", None, text, text)),
        unlikely=tuple(replace(count, trap=text) for count in SUMMARY.unlikely),
        upkeep=tuple(replace(due, trap=text, item=text, why=text) for due in SUMMARY.upkeep),
    )
    console = Console(width=80, file=io.StringIO(), force_terminal=True, color_system=None)
    for part in whole_page(
        summary, programme, notified=tuple(replace(t, by=text, how=text, status=text) for t in NOTIFIED)
    ):
        console.print(part)
    assert isinstance(console.file, io.StringIO)
    page = console.file.getvalue()

    assert "\x1b[2J" not in page
    assert "\x07" not in page
    assert "\r" not in page
    assert "\u202e" not in page
    assert max(cell_len(line) for line in page.splitlines()) <= 80
    assert len(page) < 30_000
    if text in ("[bold red]Farm[/]", "=1+1", ":smile:", "[/]"):
        assert text in page


def test_the_number_of_what_needs_attention_is_that_of_the_rows_and_none_is_cut() -> None:
    names = [f"Q{at} the long field behind the old mill" for at in range(20)]
    unread = tuple(replace(SUMMARY.blocks[0], block=one, status=Status.NOT_READ) for one in names)
    for items in (SUMMARY.attention, SUMMARY.attention[:1]):
        title, *rows = attention_section(items, Names(PROGRAMME), (*unread, *SUMMARY.blocks[1:]))
        assert isinstance(title, Line)
        assert title.parts[0][0] == f"Needs attention ({len(rows)})"
    console = Console(width=100, file=io.StringIO())
    console.print(rows[0])
    assert isinstance(console.file, io.StringIO)
    words = said(console.file.getvalue())
    assert all(one in words for one in names)
