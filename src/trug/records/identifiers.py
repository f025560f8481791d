"""Identifiers that a device makes by itself: UUID version 7 (RFC 9562, 5.7), and the hybrid logical clock."""

from __future__ import annotations

import os
import threading
import time
import uuid

__all__ = ["HybridClock", "new_id"]

_lock = threading.Lock()
_last = 0


def new_id() -> str:
    """Return a new UUIDv7; within one process each is greater than the one before."""
    global _last
    with _lock:
        # 48 bits of milliseconds and 12 bits of the fraction (RFC 9562, 6.2, method 3), never twice.
        stamp = time.time_ns() * 4096 // 1_000_000
        _last = stamp = max(stamp, _last + 1)
    milliseconds, fraction = stamp >> 12, stamp & 0xFFF
    rest = int.from_bytes(os.urandom(8), "big") & ((1 << 62) - 1)
    return str(uuid.UUID(int=milliseconds << 80 | 7 << 76 | fraction << 64 | 2 << 62 | rest))


class HybridClock:
    """A clock that never goes back and is ahead of every stamp it was shown.

    A stamp is 12 hexadecimal digits of milliseconds, 4 of a counter, and the device, so that stamps of all
    devices have one order as plain text.
    """

    def __init__(self, device: str) -> None:
        self.device = device
        self._lock = threading.Lock()
        self._milliseconds = 0
        self._counter = 0

    def tick(self) -> str:
        """Return the next stamp."""
        with self._lock:
            now = time.time_ns() // 1_000_000
            if now > self._milliseconds:
                self._milliseconds, self._counter = now, 0
            elif self._counter == 0xFFFF:
                self._milliseconds, self._counter = self._milliseconds + 1, 0
            else:
                self._counter += 1
            return f"{self._milliseconds:012x}-{self._counter:04x}-{self.device}"

    def witness(self, stamp: str) -> None:
        """Stand ahead of a stamp that another device made."""
        milliseconds, counter, _ = stamp.split("-", 2)
        with self._lock:
            seen = (int(milliseconds, 16), int(counter, 16))
            self._milliseconds, self._counter = max((self._milliseconds, self._counter), seen)
