"""Fruit stages by crop: codes, field names, and what counts as running backward."""

from __future__ import annotations

import pytest

from roundtui.domain.programme.stages import ANY_CROP, POME, STONE, find, runs_backward, scale, stage_name


@pytest.mark.parametrize("stages", [POME, STONE, ANY_CROP])
def test_a_scale_runs_upward_and_every_stage_has_words_and_a_source(stages: tuple[object, ...]) -> None:
    codes = [stage.code for stage in stages]
    assert codes == sorted(set(codes))
    assert all(len(code) == 2 and code.isdigit() for code in codes)
    assert all(stage.name and stage.source for stage in stages)


@pytest.mark.parametrize("stages", [POME, STONE])
def test_a_field_name_means_one_stage_of_a_scale(stages: tuple[object, ...]) -> None:
    names = [name for stage in stages for name in stage.field_names]
    assert len(names) == len(set(names))
    assert all(name == name.casefold() for name in names)


@pytest.mark.parametrize(
    ("crop", "stages"),
    [
        ("apple", POME),
        ("Apples", POME),
        ("pear", POME),
        ("peach", STONE),
        ("Peaches", STONE),
        ("sweet  cherry", STONE),
        ("cherries", STONE),
        ("persimmon", ANY_CROP),
        ("", ANY_CROP),
    ],
)
def test_the_crop_decides_the_scale(crop: str, stages: tuple[object, ...]) -> None:
    assert scale(crop) is stages


def test_what_was_looked_up_and_what_is_from_memory_is_told_apart() -> None:
    assert "memory" not in find("apple", "73").source
    assert "memory" in find("apple", "74").source
    assert "memory" not in find("peach", "73").source
    assert "memory" in find("peach", "76").source
    assert "general BBCH scale" in find("peach", "89").source


@pytest.mark.parametrize(
    ("crop", "text", "code"),
    [
        ("apple", "57", "57"),
        ("apple", "Pink", "57"),
        ("apple", "half-inch  green", "54"),
        ("apple", "Half inch green", "54"),
        ("apple", "petal fall", "69"),
        ("apple", "king bloom", "60"),
        ("peach", "shuck split", "72"),
        ("peach", "Full Bloom", "65"),
    ],
)
def test_a_stage_is_found_by_code_or_field_name(crop: str, text: str, code: str) -> None:
    assert find(crop, text).code == code


@pytest.mark.parametrize(("crop", "text"), [("apple", "shuck split"), ("apple", "58"), ("apple", ""), ("peach", "52")])
def test_what_a_scale_lacks_is_not_found(crop: str, text: str) -> None:
    assert find(crop, text) is None
    assert stage_name(crop, text) == ""


@pytest.mark.parametrize(
    ("before", "after", "backward"),
    [
        ("57", "65", False),
        ("65", "65", False),
        ("65", "57", True),
        ("71", "00", True),
        # Leaves open while the flowers do: 11 after 57 is no step back, and neither is bud after leaf.
        ("57", "11", False),
        ("11", "54", False),
        ("19", "11", True),
        # Mouse ear (10) is seen together with 54, so 54 after 10 is no step, and 10 after 57 is one.
        ("10", "54", False),
        ("54", "10", False),
        ("57", "10", True),
        ("03", "51", True),
        ("01", "51", False),
    ],
)
def test_a_stage_never_runs_backward_unnoticed(before: str, after: str, backward: bool) -> None:
    assert runs_backward(before, after) is backward


def test_what_print_has_is_there_and_what_it_has_not_is_not() -> None:
    """Pome and stone fruit, after Meier et al. 1994: shoots 31 to 33 and 39, colour 92, harvest 99; stone fruit has no
    07, 15, 52 and 58, and its balloon, "petals forming a hollow ball", is 59.
    """
    for stages in (POME, STONE):
        assert {"31", "32", "33", "39", "92", "99"} <= {stage.code for stage in stages}
    assert not {"07", "15", "52", "58"} & {stage.code for stage in STONE}
    assert find("peach", "popcorn").code == "59"
    assert find("apple", "after harvest").code == "99", "91 is the end of shoot growth"


def test_leaves_fall_after_the_harvest() -> None:
    assert not runs_backward("99", "93")
    assert runs_backward("99", "87")
    assert not runs_backward("87", "99")
    assert not runs_backward("73", "39"), "shoots grow beside the fruit"
