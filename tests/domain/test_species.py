"""The trade's species, and what falls due in their traps."""

from __future__ import annotations

import re

import pytest

from roundtui.domain.programme.species import (
    ANY_STYLE,
    SPECIES,
    STYLES,
    species_code,
    trap_style,
)


def test_the_species_of_the_programme_are_there() -> None:
    assert {"CM", "OFM", "OBLR", "RBLR", "TABM", "STLM", "DWB", "PTB", "LPTB", "GPTB", "AM", "SJS"} <= set(SPECIES)


@pytest.mark.parametrize("species", SPECIES.values(), ids=SPECIES)
def test_each_species_is_complete(species: object) -> None:
    assert re.fullmatch(r"[A-Z]{2,4}", species.code)
    assert re.fullmatch(r"[A-Z]{6}|", species.eppo)
    assert re.fullmatch(r"[A-Z][a-z]+ [a-z]+", species.latin)
    assert species.styles
    assert set(species.styles) <= set(STYLES)
    assert 7 <= species.lure_life_days <= 90
    assert species.lure_life_source
    assert species.liner_source
    assert species.styles_source


def test_no_two_species_share_a_name_or_code() -> None:
    for field in ("code", "name", "latin"):
        assert len({getattr(species, field) for species in SPECIES.values()}) == len(SPECIES)


def test_eppo_codes_stand_only_where_somebody_saw_them() -> None:
    """Seen: EPPO Global Database, gd.eppo.int/taxon/CARPPO, LASPMO, RHAGPO, QUADPE, LASPFU, CAPURE."""
    coded = {species.code: species.eppo for species in SPECIES.values() if species.eppo}
    assert coded == {
        "CM": "CARPPO",
        "OFM": "LASPMO",
        "AM": "RHAGPO",
        "SJS": "QUADPE",
        "PFM": "LASPFU",
        "SFT": "CAPURE",
    }


@pytest.mark.parametrize(
    ("text", "code"),
    [("cm", "CM"), ("CARPPO", "CM"), ("Codling  Moth", "CM"), ("anarsia lineatella", "PTB"), ("moth", None)],
)
def test_a_species_is_known_by_any_of_its_names(text: str, code: str | None) -> None:
    assert species_code(text) == code


def test_a_peach_twig_borer_is_no_peachtree_borer() -> None:
    assert SPECIES["PTB"].latin == "Anarsia lineatella"
    assert SPECIES["GPTB"].latin == "Synanthedon exitiosa"


def test_a_delta_has_a_liner_a_bucket_a_kill_strip_and_a_sphere_is_sticky_itself() -> None:
    made_of = {style.style: (style.has_liner, style.has_kill_strip) for style in STYLES.values()}
    assert made_of["delta"] == (True, False)
    assert made_of["bucket"] == (False, True)
    assert made_of["sphere"] == (True, False), "its own surface is sticky"
    assert (STYLES["sphere"].sticky, STYLES["delta"].sticky, STYLES["cup"].has_liner) == (True, False, False)


def test_a_style_is_read_in_any_case_and_an_unknown_one_is_taken_for_a_liner_trap() -> None:
    assert trap_style(" Large Delta ").style == "large-delta"
    assert trap_style("LARGE_DELTA").style == "large-delta"
    assert trap_style("") is ANY_STYLE
    assert trap_style("home made") is ANY_STYLE
    assert ANY_STYLE.has_liner


def test_a_liner_is_full_at_what_was_printed_for_its_species() -> None:
    """30 codling moths: Washington State University. A leafminer takes 800 to 1,200 a week: Wisconsin DATCP 58(2)."""
    assert SPECIES["CM"].liner_moths == 30
    assert "Washington" in SPECIES["CM"].liner_source
    assert SPECIES["STLM"].liner_moths is None
    assert SPECIES["OBLR"].liner_moths == 50, "the nearest case published: Kuenen 2008"


@pytest.mark.parametrize(
    ("code", "days", "source"),
    [
        *(("GPTB", 30, "Utah"), ("OBLR", 30, "Utah"), ("PTB", 30, "60 for long-life")),  # intermountainfruit.org
        ("LPTB", 30, "supplier"),
        *(("DWB", 56, "from memory"), ("AM", 42, "from memory")),  # nothing but two weeks to a season was found
        *(("PFM", 28, "CAPS"), ("SFT", 84, "CAPS"), ("CM", 28, "NIAB"), ("SJS", 56, "8 weeks")),
    ],
)
def test_a_lure_lasts_as_long_as_print_says_or_says_that_it_is_from_memory(code: str, days: int, source: str) -> None:
    """Utah State University, Intermountain guide, traps; CAPS approved methods, Purdue; NIAB, codling moth."""
    assert SPECIES[code].lure_life_days == days
    assert source in SPECIES[code].lure_life_source
