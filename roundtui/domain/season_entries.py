"""What people leave on record for the season's arithmetic: biofixes settled, and temperatures read off by hand."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from roundtui.domain.recorded import NUMBER, Recorded, fact
from roundtui.domain.units import TempUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class BiofixSettled(Recorded):
    """That the coordinator confirmed a proposed biofix, or set another day."""

    block: str = field(metadata=fact("Code of the block."))
    species: str = field(metadata=fact("Abbreviation of the species."))
    season: int = field(metadata=fact("Year in which the season started.", least=1900, most=2199))
    generation: int = field(metadata=fact("Generation of the season, from 1.", least=1, most=9))
    day: date = field(metadata=fact("The biofix."))
    proposed: date | None = field(default=None, metadata=fact("Day that the rule proposed when it was settled."))
    rule: str = field(default="", metadata=fact("Rule behind the proposal."))

    @property
    def overridden(self) -> bool:
        """Whether it is another day than the proposed one."""
        return self.day != self.proposed


@dataclass(frozen=True, slots=True, kw_only=True)
class TempsRead(Recorded):
    """A day's lowest and highest temperature at a station, read off a thermometer and entered by hand."""

    station: str = field(metadata=fact("Code of the weather station."))
    day: date = field(metadata=fact("The day."))
    tmin: str = field(metadata=fact("Lowest air temperature of the day, in the row's unit.", pattern=NUMBER))
    tmax: str = field(metadata=fact("Highest air temperature of the day, in the row's unit.", pattern=NUMBER))
    unit: TempUnit = field(metadata=fact("Unit of the temperatures."))
    observed_at: str = field(
        default="", metadata=fact("Hour at which the thermometer was read, HH:MM on the station's clock.")
    )
    note: str = field(default="", metadata=fact("Free words."))
