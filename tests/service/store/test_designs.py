"""Designs are kept, read, listed and deleted."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from service.store.designs import DesignStore, StoredDesign


class Clock:
    """A clock that moves one minute at every look."""

    def __init__(self) -> None:
        self.time = datetime(2026, 1, 1, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time


@pytest.fixture
def store(tmp_path: Path) -> Iterator[DesignStore]:
    opened = DesignStore(f"sqlite:///{tmp_path / 'designs.db'}", now=Clock())
    yield opened
    opened.close()


def record(design_id: str, outlets: int = 4) -> StoredDesign:
    return StoredDesign(
        id=design_id,
        building={"id": "house", "name": "Häuschen"},
        network={"devices": [{"id": "T1", "gain_db": 0.1 + 0.2}]},
        catalogue={"parts": []},
        digests={"building": "abc"},
        summary={"outlets": outlets},
    )


def test_a_stored_design_reads_back_with_every_digit(store: DesignStore) -> None:
    store.put(record("d1"))
    kept = store.get("d1")
    assert kept is not None
    assert kept.network == {"devices": [{"id": "T1", "gain_db": 0.1 + 0.2}]}
    assert kept.building["name"] == "Häuschen"
    assert kept.created == "2026-01-01T00:01:00.000000+00:00"


def test_an_unknown_design_reads_as_nothing(store: DesignStore) -> None:
    assert store.get("nothing") is None
    assert store.delete("nothing") is False


def test_storing_the_same_design_again_keeps_the_first(store: DesignStore) -> None:
    first = store.put(record("d1", outlets=4))
    second = store.put(record("d1", outlets=9))
    assert second == first
    assert len(store.lines(most=10)) == 1


def test_lines_come_newest_first_and_page_by_page(store: DesignStore) -> None:
    for number in range(5):
        store.put(record(f"d{number}"))
    first = store.lines(most=2)
    second = store.lines(most=2, after=first[-1].id)
    third = store.lines(most=2, after=second[-1].id)
    assert [line.id for line in (*first, *second, *third)] == ["d4", "d3", "d2", "d1", "d0"]


def test_a_deleted_design_is_gone(store: DesignStore) -> None:
    store.put(record("d1"))
    assert store.delete("d1") is True
    assert store.get("d1") is None
    assert store.lines(most=10) == ()


def test_a_second_store_on_the_same_file_sees_the_designs(store: DesignStore, tmp_path: Path) -> None:
    store.put(record("d1"))
    other = DesignStore(f"sqlite:///{tmp_path / 'designs.db'}")
    assert other.get("d1") == store.get("d1")
    other.close()


def test_many_threads_store_at_once(store: DesignStore) -> None:
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda number: store.put(record(f"d{number}")), range(40)))
    assert len(store.lines(most=100)) == 40


def test_a_store_that_answers_is_ready(store: DesignStore) -> None:
    assert store.ready() is True
