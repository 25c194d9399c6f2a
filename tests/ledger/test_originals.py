"""Names are SHA-256 (FIPS 180-4); the digest of 'abc' is the standard's example."""

from pathlib import Path

import pytest

from burnplan.errors import OperationFailed
from burnplan.ledger import originals


def test_the_name_is_the_standards_digest() -> None:
    assert (
        originals.digest(b"abc")
        == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )


def test_kept_once_and_fetched_whole(tmp_path: Path) -> None:
    name = originals.keep(tmp_path / "o", b"a photo")
    assert originals.keep(tmp_path / "o", b"a photo") == name
    assert originals.fetch(tmp_path / "o", name).read_bytes() == b"a photo"
    assert len([p for p in (tmp_path / "o").rglob("*") if p.is_file()]) == 1


def test_a_damaged_photo_is_noticed(tmp_path: Path) -> None:
    name = originals.keep(tmp_path, b"a photo")
    originals.fetch(tmp_path, name).write_bytes(b"a phot0")
    with pytest.raises(OperationFailed, match="damaged"):
        originals.fetch(tmp_path, name)


def test_a_missing_photo_is_noticed(tmp_path: Path) -> None:
    with pytest.raises(OperationFailed, match="missing"):
        originals.fetch(tmp_path, "0" * 64)


def test_a_truncated_copy_is_replaced(tmp_path: Path) -> None:
    name = originals.keep(tmp_path, b"a photo")
    originals.fetch(tmp_path, name).write_bytes(b"")
    originals.keep(tmp_path, b"a photo")
    assert originals.fetch(tmp_path, name).read_bytes() == b"a photo"


def test_a_damaged_copy_of_the_same_length_is_replaced(tmp_path: Path) -> None:
    name = originals.keep(tmp_path, b"a photo")
    originals.fetch(tmp_path, name).write_bytes(b"a phot0")
    originals.keep(tmp_path, b"a photo")
    assert originals.fetch(tmp_path, name).read_bytes() == b"a photo"
