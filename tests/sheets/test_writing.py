from pathlib import Path

import pytest

from burnplan.errors import OperationFailed
from burnplan.sheets.writing import written_whole


def write_half(target: Path, error: Exception) -> None:
    """Begin to write a file, and fail."""
    with written_whole(target) as unfinished:
        unfinished.write_text("half")
        raise error


def test_a_file_is_there_only_when_all_went_well(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    target.write_text("before")
    with pytest.raises(ZeroDivisionError):
        write_half(target, ZeroDivisionError())
    assert target.read_text() == "before"
    with written_whole(target) as unfinished:
        unfinished.write_text("after")
        assert target.read_text() == "before"
    assert target.read_text() == "after"
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_a_full_disk_is_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(OperationFailed, match="No space left"):
        write_half(tmp_path / "a.txt", OSError(28, "No space left on device"))
    assert list(tmp_path.iterdir()) == []
