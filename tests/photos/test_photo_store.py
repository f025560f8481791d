"""Photos are kept whole, once, and found damaged when they are."""

from __future__ import annotations

import hashlib
import os
import tempfile
import threading
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from photo_builders import opened, photo

from trug.errors import InputError, UnreadableError
from trug.records.photos.store import PhotoStore


@pytest.fixture
def store(tmp_path: Path) -> PhotoStore:
    return PhotoStore(tmp_path / "photos")


def test_a_photo_lies_under_its_digest(store: PhotoStore) -> None:
    """The digest of ``abc`` is the one printed in FIPS 180-4's examples (SHA-256, one block)."""
    sha256 = store.add(b"abc")
    assert sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert store.path(sha256) == store.folder / "ba" / "78" / sha256
    assert store.path(sha256).read_bytes() == b"abc"
    assert store.path(sha256.upper()) == store.path(sha256)


@given(st.binary(min_size=1, max_size=500))
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_what_was_added_comes_back_and_adding_twice_changes_nothing(tmp_path: Path, data: bytes) -> None:
    with tempfile.TemporaryDirectory(dir=tmp_path) as folder:
        store = PhotoStore(Path(folder))
        sha256 = store.add(data)
        stat = store.path(sha256).stat()
        assert store.add(data) == sha256
        assert store.path(sha256).stat().st_mtime_ns == stat.st_mtime_ns
        assert store.open(sha256) == data
        assert list(store) == [sha256]
        assert sha256 in store
        assert store.verify([sha256]).sound == (sha256,)


@pytest.mark.parametrize(
    "name",
    [
        "",
        "..",
        "../../etc/passwd",
        "a" * 63,
        "a" * 65,
        "g" * 64,
        "a" * 64 + "\n",
        "/" + "a" * 63,
        "٣" * 64,
        "../" + "a" * 61,
    ],
)
def test_nothing_but_a_digest_names_a_file(store: PhotoStore, name: str) -> None:
    for use in (store.path, store.open, store.drop, store.__contains__, lambda n: store.thumb(n, 64)):
        with pytest.raises(InputError, match="64 digits"):
            use(name)


@given(st.text(max_size=80))
def test_every_path_lies_inside_the_store(name: str) -> None:
    store = PhotoStore(Path("/photos"))
    try:
        path = store.path(name)
    except InputError:
        return
    assert path.resolve().is_relative_to("/photos")


def test_a_changed_byte_is_noticed_when_read_and_mended_when_added_again(store: PhotoStore) -> None:
    data = photo("JPEG")
    sha256 = store.add(data)
    store.path(sha256).write_bytes(data[:-1] + b"\x00")
    with pytest.raises(UnreadableError, match=r"damaged .*restore it from a backup"):
        store.open(sha256)
    assert store.verify().damaged == (sha256,)

    store.add(data)

    assert store.open(sha256) == data


def test_a_missing_photo_is_named(store: PhotoStore) -> None:
    gone, kept = hashlib.sha256(b"gone").hexdigest(), store.add(b"kept")
    with pytest.raises(UnreadableError, match=f"{gone[:12]} is missing"):
        store.open(gone)
    seen = store.verify([gone, kept.upper()])
    assert (seen.missing, seen.sound, seen.damaged, seen.strange) == ((gone,), (kept,), (), ())


def test_an_empty_store_verifies(store: PhotoStore) -> None:
    assert store.verify() == store.verify([])
    assert list(store) == []


def test_strange_files_are_named_and_thumbnails_are_not(store: PhotoStore) -> None:
    sha256 = store.add(photo("JPEG"))
    store.thumb(sha256, 32)
    (store.folder / "notes.txt").write_text("x")
    (store.folder / ("f" * 64)).write_text("a digest in the wrong place")
    assert store.verify().strange == ("f" * 64, "notes.txt")


def test_thumbnails_are_made_once_and_made_again_when_broken(store: PhotoStore) -> None:
    sha256 = store.add(photo("PNG"))
    first = store.thumb(sha256, 32)
    assert max(opened(first).size) == 32
    (kept,) = store.path(sha256).parent.glob("*.32.*")
    stamp = kept.stat().st_mtime_ns
    assert store.thumb(sha256, 32) == first
    assert kept.stat().st_mtime_ns == stamp
    kept.write_bytes(first[: len(first) // 2])
    assert store.thumb(sha256, 32) == first


def test_an_absurd_thumbnail_is_refused(store: PhotoStore) -> None:
    with pytest.raises(InputError, match="16 to 4096"):
        store.thumb(store.add(photo("PNG")), 100_000)


def test_dropping_takes_the_thumbnails_along(store: PhotoStore) -> None:
    sha256 = store.add(photo("JPEG"))
    store.thumb(sha256, 32)
    assert store.drop(sha256) is True
    assert store.drop(sha256) is False
    assert [f for f in store.folder.rglob("*") if f.is_file()] == []
    with pytest.raises(UnreadableError, match="missing"):
        store.thumb(sha256, 32)


def test_empty_and_huge_bytes_are_not_kept(store: PhotoStore) -> None:
    for data in (b"", bytes(40_000_001)):
        with pytest.raises(InputError, match=r"0 bytes|40 MB"):
            store.add(data)
    assert not store.folder.exists()


def test_many_may_add_the_same_and_other_photos_at_once(store: PhotoStore) -> None:
    photos = [bytes([n]) * 5000 for n in range(12)]
    failures: list[BaseException] = []

    def work() -> None:
        try:
            for data in photos:
                assert store.open(store.add(data)) == data
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=work) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert store.verify().sound == tuple(sorted(hashlib.sha256(p).hexdigest() for p in photos))
    assert store.verify().strange == ()


def test_a_write_that_breaks_leaves_nothing_behind(store: PhotoStore, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(InputError, match="No space left on device; make room"):
        store.add(b"photo")
    assert [f for f in store.folder.rglob("*") if f.is_file()] == []


def test_a_file_where_the_folder_should_be_gives_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "photos").write_text("x")
    with pytest.raises(InputError, match="could not be kept"):
        PhotoStore(tmp_path / "photos").add(b"photo")
