"""Identifiers and clocks that need nobody else to be unique and in order."""

from __future__ import annotations

import threading
import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.records import identifiers
from trug.records.identifiers import HybridClock, new_id

DEVICES = st.sampled_from(["a", "0190f0a0-0000-7000-8000-000000000001"])
#: Wall clocks in steps forward and back [ms].
STEPS = st.lists(st.integers(-5_000, 5_000), min_size=1, max_size=40)


def test_the_example_of_the_standard_comes_out(monkeypatch: pytest.MonkeyPatch) -> None:
    # RFC 9562 (Davis, Peabody & Leach 2024), appendix A.6: unix_ts_ms 0x017F22E279B0, ver 7, rand_a 0xCC3, var 0b10,
    # rand_b 0b01, 0x8C4DC0C0C07398F. The fraction of the millisecond stands in rand_a (6.2, method 3).
    fraction_ns = -(-0xCC3 * 1_000_000 // 4096)
    monkeypatch.setattr(identifiers.time, "time_ns", lambda: 0x017F22E279B0 * 1_000_000 + fraction_ns)
    monkeypatch.setattr(identifiers.os, "urandom", lambda n: (0b01 << 60 | 0x8C4DC0C0C07398F).to_bytes(n, "big"))
    monkeypatch.setattr(identifiers, "_last", 0)

    assert new_id() == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


def test_version_and_variant_are_those_of_the_standard() -> None:
    for told in (uuid.UUID(new_id()) for _ in range(500)):
        assert (told.version, told.variant) == (7, uuid.RFC_4122)


def test_the_time_of_making_is_in_the_identifier(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(identifiers, "_last", 0)  # other tests may have set the clock of this process ahead
    before = identifiers.time.time_ns() // 1_000_000
    stamp = uuid.UUID(new_id()).int >> 80

    assert before <= stamp <= identifiers.time.time_ns() // 1_000_000


def test_each_is_greater_than_the_one_before_in_all_threads() -> None:
    made: list[list[str]] = [[] for _ in range(4)]
    threads = [threading.Thread(target=lambda own=own: own.extend(new_id() for _ in range(2000))) for own in made]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert all(own == sorted(own) for own in made)
    assert len({i for own in made for i in own}) == 8000


def test_a_clock_that_is_set_back_does_not_turn_the_order(monkeypatch: pytest.MonkeyPatch) -> None:
    first = new_id()
    monkeypatch.setattr(identifiers.time, "time_ns", lambda: 1_000_000_000_000_000_000)

    assert first < new_id() < new_id()


@given(STEPS, DEVICES)
def test_stamps_ascend_whatever_the_wall_clock_does(steps: list[int], device: str) -> None:
    clock, now = HybridClock(device), 1_700_000_000_000
    stamps = []
    with pytest.MonkeyPatch.context() as patch:
        for step in steps:
            now += step
            patch.setattr(identifiers.time, "time_ns", lambda now=now: now * 1_000_000)
            stamps += [clock.tick(), clock.tick()]

    assert stamps == sorted(set(stamps))
    assert all(s.endswith(f"-{device}") for s in stamps)


@given(STEPS, st.lists(st.tuples(st.integers(0, 2**47), st.integers(0, 0xFFFF), DEVICES), max_size=8))
def test_every_stamp_is_ahead_of_all_that_were_witnessed(steps: list[int], seen: list[tuple[int, int, str]]) -> None:
    clock, shown = HybridClock("m"), [f"{ms:012x}-{count:04x}-{device}" for ms, count, device in seen]
    last = ""
    for stamp in shown:
        clock.witness(stamp)
        last = max(last, stamp, clock.tick())

    assert clock.tick() > last


def test_a_full_counter_carries_over() -> None:
    clock = HybridClock("d")
    clock.witness("7fffffffffff-fffe-e")

    assert [clock.tick(), clock.tick()] == ["7fffffffffff-ffff-d", "800000000000-0000-d"]
