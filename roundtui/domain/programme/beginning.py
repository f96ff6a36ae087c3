"""What a new programme still lacks before its first round is due, one step after the other."""

from __future__ import annotations

from dataclasses import dataclass

from roundtui.domain.programme.farm import Programme


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to set up."""

    name: str
    """What it is, as farms."""
    have: int
    """How many there are."""
    file: str
    """Set-up file that it stands in."""
    words: str
    """What one of them is made of."""
    needed: bool = True
    """Whether no round is due without it."""
    table: bool = True
    """Whether ``bring`` takes a table of it, under its name."""

    @property
    def done(self) -> bool:
        """Whether there is any."""
        return self.have > 0


def steps(programme: Programme, rules: int) -> tuple[Step, ...]:
    """What is to be set up, in order.

    Args:
        programme: What is set up.
        rules: How many rules the office has of its own.

    Returns:
        Every step, those that are done too. Stations and rules may wait: degree-days come with the first, and the rules
        that ship judge until there are others.
    """
    farm, block = next(iter(programme.farms), "HF"), next(iter(programme.blocks), "N1")
    trap = next(iter(programme.hangings), "A1")
    stations, rules_file = "stations.csv", "thresholds.toml"
    return (
        Step("farms", len(programme.farms), "farms.csv", "a code and a name: HF, Hollow Farm"),
        Step("blocks", len(programme.blocks), "blocks.csv", f"a code, farm, name and crop: N1, {farm}, North, apple"),
        Step("stations", len(programme.stations), stations, "a code and a name: VALE, Vale", needed=False, table=False),
        Step(
            "traps",
            len(programme.hangings),
            "traps.csv",
            f"a label, its block, its species, the day it was hung: A1, {block}, CM, 2026-04-20",
        ),
        Step("routes", len(programme.routes), "routes.csv", f"a name, a place in the order, a trap: home, 1, {trap}"),
        Step("rules", rules, rules_file, "a threshold with its source; without, those that ship judge", False, False),
    )


def next_step(found: tuple[Step, ...]) -> Step | None:
    """The step to take now: the first that is not done, those that may wait being passed over once a later one is done.

    Args:
        found: The steps.

    Returns:
        None where the first round is due.
    """
    if all(step.done for step in found if step.needed):
        return None
    last = max((at for at, step in enumerate(found) if step.done), default=-1)
    return next(step for at, step in enumerate(found) if not step.done and (step.needed or at > last))
