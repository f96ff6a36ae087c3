"""Ids of entries: universal, and in the order of time, so that two laptops never give the same one."""

from __future__ import annotations

import os
import threading
from datetime import datetime
from uuid import UUID

_RANDOM_BITS = 74
_lock = threading.Lock()
_last_ms = 0
_last_random = 0


def new_id(now: datetime) -> str:
    """A universal id of version 7 (RFC 9562, section 5.7), later than every one given before in this process.

    Args:
        now: Instant of recording; where the clock was set back, the ids go on from the latest instant.
    """
    global _last_ms, _last_random  # noqa: PLW0603
    with _lock:
        now_ms = int(now.timestamp() * 1000)
        fresh = int.from_bytes(os.urandom(10), "big") & ((1 << _RANDOM_BITS) - 1)
        if now_ms > _last_ms:
            # The top bit stays free, so that counting up within a millisecond has room.
            _last_ms, _last_random = now_ms, fresh >> 1
        else:
            _last_random += 1 + (fresh & 0xFFFF)
            if _last_random >> _RANDOM_BITS:
                _last_ms, _last_random = _last_ms + 1, fresh >> 1
        high, low = _last_random >> 62, _last_random & ((1 << 62) - 1)
        return str(UUID(int=(_last_ms & ((1 << 48) - 1)) << 80 | 0x7 << 76 | high << 64 | 0b10 << 62 | low))
