import os
from pathlib import Path

import pytest

from burnplan.errors import BadInput, OperationFailed
from burnplan.files import WouldReplace, make_folder, replacing, written_whole


def write_half(target: Path, error: Exception) -> None:
    """Begin to write a file, and fail."""
    with written_whole(target, own=True) as unfinished:
        unfinished.write_text("half")
        raise error


def test_a_file_is_there_only_when_all_went_well(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    target.write_text("before")
    with pytest.raises(ZeroDivisionError):
        write_half(target, ZeroDivisionError())
    assert target.read_text() == "before"
    with written_whole(target, own=True) as unfinished:
        unfinished.write_text("after")
        assert target.read_text() == "before"
    assert target.read_text() == "after"
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_a_folder_is_there_only_when_all_went_well(tmp_path: Path) -> None:
    target = tmp_path / "all"
    with pytest.raises(ZeroDivisionError), written_whole(target, folder=True) as unfinished:
        (unfinished / "half").write_text(f"{1 / 0}")
    assert list(tmp_path.iterdir()) == []
    with written_whole(target, folder=True) as unfinished:
        (unfinished / "whole").write_text("whole")
        assert not target.exists()
    assert [path.name for path in target.iterdir()] == ["whole"]


def test_a_full_disk_is_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(OperationFailed, match="No space left"):
        write_half(tmp_path / "a.txt", OSError(28, "No space left on device"))
    assert list(tmp_path.iterdir()) == []


def test_two_may_write_the_same_and_the_last_one_stays(tmp_path: Path) -> None:
    target = tmp_path / f"{'long' * 60}.txt"
    with written_whole(target, own=True) as first, written_whole(target, own=True) as second:
        first.write_text("first")
        second.write_text("second")
    assert target.read_text() == "first"
    assert list(tmp_path.iterdir()) == [target]


def test_what_another_wrote_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    with pytest.raises(WouldReplace), written_whole(target) as unfinished:  # noqa: PT012
        unfinished.write_text("mine")
        target.write_text("another's")
    assert target.read_text() == "another's"
    assert list(tmp_path.iterdir()) == [target]


def test_who_agrees_is_asked_once_and_only_about_what_is_there(tmp_path: Path) -> None:
    asked: list[Path] = []

    def agree(path: Path) -> bool:
        asked.append(path)
        return len(asked) == 1

    target = tmp_path / "a.txt"
    with replacing(agree):
        with written_whole(target) as unfinished:
            unfinished.write_text("new")
        assert asked == []
        with written_whole(target) as unfinished:
            unfinished.write_text("newer")
        with pytest.raises(WouldReplace), written_whole(target) as unfinished:
            unfinished.write_text("newest")
    assert (asked, target.read_text()) == ([target, target], "newer")
    with pytest.raises(WouldReplace), written_whole(target):
        pass  # who agreed before is not asked any more


def test_a_folder_or_a_missing_one_is_no_place_for_a_file(tmp_path: Path) -> None:
    for target, why in ((tmp_path, "is a folder"), (tmp_path / "no" / "a.txt", "no folder")):
        with pytest.raises(BadInput, match=why), written_whole(target):
            pass


@pytest.mark.skipif(os.name == "nt", reason="POSIX permissions")
@pytest.mark.parametrize("folder", [False, True])
def test_privacy_is_a_choice_and_holds_from_the_start(tmp_path: Path, folder: bool) -> None:
    before = os.umask(0o022)
    try:
        for private, mode in (
            (True, 0o700 if folder else 0o600),
            (False, 0o755 if folder else 0o644),
        ):
            target = tmp_path / f"{private}"
            with written_whole(target, folder=folder, private=private) as unfinished:
                assert unfinished.stat().st_mode & 0o777 == mode
            assert target.stat().st_mode & 0o777 == mode
            make_folder(tmp_path / f"in {private}", private=private)
            assert (tmp_path / f"in {private}").stat().st_mode & 0o077 == (0 if private else 0o055)
    finally:
        os.umask(before)
