"""A round's summary, put together from the record."""

from __future__ import annotations

from roundtui.domain.history import History

__all__ = ["History"]
