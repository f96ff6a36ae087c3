"""A suspect trap that was assembled although its fault was named: the reason given stands in the letter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from roundtui.domain.entries import Assembled
from roundtui.domain.text import spoken_days
from roundtui.report.letters.compose import compose
from roundtui.report.letters.material import Material
from roundtui.report.letters.template import Templates, letter_text
from tests.report.letters.conftest import ON

Materials = Callable[[date], Material]


def assembled_with_override(material: Material, trap: str) -> Material:
    one = Assembled(trap=trap, species="CM", assembled_on=date(2025, 4, 1), despite="no other [body] left")
    return replace(material, observations=replace(material.observations, override=(one,)))


def test_the_reason_given_stands_with_the_warning_it_was_given_for(
    material_of: Materials, templates: Templates
) -> None:
    material = material_of(ON)
    row = next(row for row in material.summary.integrity if row.partner is None)
    words = "Known when it was assembled on Tue 1 Apr 2025; the reason given: no other [body] left."
    (said,) = [
        str(one)
        for one in compose(assembled_with_override(material, row.trap), row.farm).troubles
        if f"rap {row.trap} " in str(one) and "Its catch since then" in str(one)
    ]
    assert said.endswith(f" {words}")
    text = " ".join(letter_text(compose(assembled_with_override(material, row.trap), row.farm), templates).split())
    assert words in text
    without = compose(assembled_with_override(material, "elsewhere"), row.farm)
    assert (
        without.troubles
        == compose(replace(material, observations=replace(material.observations, override=())), row.farm).troubles
    )


def test_of_a_pair_the_trap_is_named(material_of: Materials) -> None:
    material = material_of(ON)
    row = next(row for row in material.summary.integrity if row.partner is not None)
    said = " ".join(map(str, compose(assembled_with_override(material, row.trap), row.farm).troubles))
    assert f"the reason given for trap {row.trap}: no other [body] left." in said


def test_days_are_written_as_people_do_and_labels_are_left_alone() -> None:
    assert spoken_days("K5 was moved on 2025-06-10, L-2025-06-1 on 2024-05-02") == (
        "K5 was moved on Tue 10 Jun 2025, L-2025-06-1 on Thu 2 May 2024"
    )
    assert spoken_days("lot 2025-99-99") == "lot 2025-99-99"
