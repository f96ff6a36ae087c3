"""What people leave on record for the season's arithmetic: biofixes settled, and temperatures read off by hand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from roundtui.domain.units import TempUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class BiofixSettled:
    """That the coordinator confirmed a proposed biofix, or set another day."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    season: int
    """Year in which the season started."""
    generation: int
    """Generation of the season, counted from 1."""
    day: date
    """The biofix."""
    proposed: date | None = None
    """What the tool proposed when it was settled; None where it proposed nothing."""
    rule: str = ""
    """Rule behind the proposal; empty where nobody had one."""
    scout: str = ""
    """Who."""
    device: str = ""
    """Which laptop."""
    recorded_at: datetime | None = None
    """Instant of recording, UTC."""
    id: str = ""
    """Time-ordered universal id; empty until recorded."""
    replaces: str | None = None
    """Id of the entry that this one corrects."""
    reason: str = ""
    """Why another day than the proposed one, or why it was corrected."""

    @property
    def overridden(self) -> bool:
        """Whether it is another day than the proposed one."""
        return self.day != self.proposed


@dataclass(frozen=True, slots=True, kw_only=True)
class TempsRead:
    """A day's lowest and highest temperature at a station, read off a thermometer and entered by hand."""

    station: str
    """Code of the station."""
    day: date
    """The day."""
    tmin: str
    """Minimum, as a plain decimal number, exactly as entered. [``unit``]"""
    tmax: str
    """Maximum, likewise. [``unit``]"""
    unit: TempUnit
    """Unit of the thermometer."""
    observed_at: str = ""
    """Hour at which it was read, HH:MM on the station's clock."""
    note: str = ""
    """Free words."""
    scout: str = ""
    """Who."""
    device: str = ""
    """Which laptop."""
    recorded_at: datetime | None = None
    """Instant of recording, UTC."""
    id: str = ""
    """Time-ordered universal id; empty until recorded."""
    replaces: str | None = None
    """Id of the entry that this one corrects."""
    reason: str = ""
    """Why it was corrected."""
