import io
import os
import struct
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pillow_heif
import pytest
from numpy.typing import NDArray
from PIL import Image

from burnplan.errors import BadInput, BurnplanError, OperationFailed
from burnplan.tone import photo as photo_module
from burnplan.tone.photo import MAX_PIXELS, look, open_photo

RED, GREEN, BLUE, WHITE = (200, 30, 30), (30, 160, 30), (30, 30, 200), (240, 240, 240)
CORNERS = (RED, GREEN, BLUE, WHITE)  # top left, top right, bottom left, bottom right


def quarters(width: int = 96, height: int = 64) -> NDArray[np.uint8]:
    """An upright picture whose corners tell which way up it is."""
    picture = np.zeros((height, width, 3), np.uint8)
    for colour_, (rows, columns) in zip(
        CORNERS,
        (
            (slice(None, height // 2), slice(None, width // 2)),
            (slice(None, height // 2), slice(width // 2, None)),
            (slice(height // 2, None), slice(None, width // 2)),
            (slice(height // 2, None), slice(width // 2, None)),
        ),
        strict=True,
    ):
        picture[rows, columns] = colour_
    return picture


# How a camera stores an upright picture for each EXIF orientation (EXIF 2.32, tag 274):
# where row 0 and column 0 of what is stored lie in what is seen.
STORED: dict[int, Callable[[NDArray[np.uint8]], NDArray[np.uint8]]] = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: np.rot90(a, 1),
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: np.rot90(a, -1),
}


def encoded(image: Image.Image, kind: str, **options: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, format=kind, **options)
    return out.getvalue()


def as_heic(image: Image.Image, **options: Any) -> bytes:
    pillow_heif.register_heif_opener()
    return encoded(image, "HEIF", quality=95, **options)


def opened(source: bytes, **options: Any) -> NDArray[np.uint8]:
    return open_photo(source, **options).rgb


def assert_upright(rgb: NDArray[np.uint8], tolerance: int = 24) -> None:
    height, width = rgb.shape[:2]
    found = [
        rgb[y, x].astype(int)
        for y in (height // 4, 3 * height // 4)
        for x in (width // 4, 3 * width // 4)
    ]
    for have, want in zip(found, CORNERS, strict=True):
        assert np.abs(have - np.array(want)).max() <= tolerance, (found, CORNERS)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_every_exif_orientation_comes_out_upright(kind: str, orientation: int) -> None:
    exif = Image.Exif()
    exif[274] = orientation
    stored = Image.fromarray(np.ascontiguousarray(STORED[orientation](quarters())))
    file = encoded(stored, kind, exif=exif)
    assert look(file).size == (96, 64)
    photo = open_photo(file)
    assert photo.full_size == (96, 64)
    assert photo.rgb.shape == (64, 96, 3)
    assert_upright(photo.rgb)
    small = opened(file, at_least=(48, 32))
    assert small.shape == (32, 48, 3)
    assert_upright(small)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_heic_comes_out_upright(orientation: int) -> None:
    exif = Image.Exif()
    exif[274] = orientation
    stored = Image.fromarray(np.ascontiguousarray(STORED[orientation](quarters())))
    file = as_heic(stored, exif=exif.tobytes())
    assert look(file).format == "HEIF"
    assert look(file).size == (96, 64)
    photo = open_photo(file)
    assert photo.rgb.shape == (64, 96, 3)
    assert_upright(photo.rgb, 40)


def test_an_impossible_orientation_is_ignored() -> None:
    exif = Image.Exif()
    exif[274] = 77
    assert_upright(opened(encoded(Image.fromarray(quarters()), "JPEG", exif=exif)))


def test_jpeg_is_shrunk_while_decoding_but_never_below_what_is_needed(
    photo_file: Callable[[str], Path],
) -> None:
    path = photo_file("rocket.jpg")  # 640 × 427
    for wanted in ((640, 427), (320, 100), (160, 100), (100, 100), (81, 54), (1, 1)):
        photo = open_photo(path, at_least=wanted)
        height, width = photo.rgb.shape[:2]
        assert photo.full_size == (640, 427)
        assert width >= wanted[0]
        assert height >= wanted[1]
    assert open_photo(path, at_least=(320, 210)).rgb.shape == (214, 320, 3)
    full, half = open_photo(path).rgb, open_photo(path, at_least=(320, 210)).rgb
    assert abs(full.mean() - half.mean()) < 1


def test_png_is_shrunk_by_averaging(photo_file: Callable[[str], Path]) -> None:
    path = photo_file("chelsea.png")  # 451 × 300
    small = open_photo(path, at_least=(150, 100)).rgb
    full = open_photo(path).rgb
    assert small.shape == (100, 151, 3)
    blocks = full[:300, :450].reshape(100, 3, 150, 3, 3).mean(axis=(1, 3))
    assert np.abs(small[:, :150] - blocks).max() <= 0.56


GREY = 128


@pytest.mark.parametrize(
    ("mode", "kind", "value"),
    [
        ("L", "JPEG", GREY),
        ("L", "PNG", GREY),
        ("LA", "PNG", (GREY, 255)),
        ("RGB", "BMP", (GREY,) * 3),
        ("RGB", "GIF", (GREY,) * 3),
        ("RGBA", "PNG", (GREY, GREY, GREY, 255)),
        ("RGBA", "WEBP", (GREY, GREY, GREY, 255)),
        ("P", "PNG", GREY),
        ("CMYK", "TIFF", (0, 0, 0, 255 - GREY)),
        ("CMYK", "JPEG", (0, 0, 0, 255 - GREY)),
        ("YCbCr", "TIFF", (GREY, 128, 128)),
        ("YCbCr", "JPEG", (GREY, 128, 128)),
        ("RGB", "AVIF", (GREY,) * 3),
        ("RGB", "JPEG2000", (GREY,) * 3),
        ("RGB", "PPM", (GREY,) * 3),
    ],
)
def test_every_way_of_storing_a_middle_grey_gives_it_back(
    mode: str, kind: str, value: int | tuple[int, ...]
) -> None:
    image = Image.new("L" if mode == "P" else mode, (40, 30), value)
    image = image.convert("P") if mode == "P" else image
    photo = open_photo(encoded(image, kind))
    assert photo.rgb.shape == (30, 40, 3)
    assert np.abs(photo.rgb.astype(int) - GREY).max() <= 2


def test_printing_colours_without_a_profile_are_noted() -> None:
    photo = open_photo(encoded(Image.new("CMYK", (40, 30), (0, 0, 0, 127)), "JPEG"))
    assert any("approximate" in note for note in photo.notes)


def test_cielab_tiff_is_converted() -> None:
    file = encoded(Image.new("LAB", (40, 30), (128, 128, 128)), "TIFF")  # L* 50.2, neutral
    assert np.abs(opened(file).astype(int) - 120).max() <= 3


def test_black_and_white_of_one_bit() -> None:
    page = np.zeros((30, 40), np.bool_)
    page[:, 20:] = True
    rgb = opened(encoded(Image.fromarray(page), "PNG"))
    assert rgb[0, 0].tolist() == [0, 0, 0]
    assert rgb[0, 39].tolist() == [255, 255, 255]


def ramp16() -> NDArray[np.uint16]:
    return np.tile(np.linspace(0, 65535, 256).round().astype(np.uint16), (20, 1))


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_sixteen_bit_grey_is_scaled_not_cut(kind: str) -> None:
    rgb = opened(encoded(Image.fromarray(ramp16()), kind))
    assert np.abs(rgb[0, :, 0].astype(int) - np.arange(256)).max() == 0


@pytest.mark.parametrize("suffix", [".png", ".tif"])
def test_sixteen_bit_colour_is_scaled_not_cut(suffix: str) -> None:
    ok, file = cv2.imencode(suffix, np.dstack([ramp16()] * 3))
    assert ok
    rgb = opened(file.tobytes())
    assert np.abs(rgb[0, :, 1].astype(int) - np.arange(256)).max() <= 1


def test_big_endian_and_white_is_zero_sixteen_bit_tiff() -> None:
    ramp = ramp16()
    up = np.arange(256)
    for mark, end, photometric, want in ((b"MM", ">", 1, up), (b"II", "<", 0, 255 - up)):
        data = ramp.astype(f"{end}u2").tobytes()
        tags = [
            (256, 3, 1, 256),
            (257, 3, 1, 20),
            (258, 3, 1, 16),
            (259, 3, 1, 1),
            (262, 3, 1, photometric),
            (273, 4, 1, 8),
            (277, 3, 1, 1),
            (278, 3, 1, 20),
            (279, 4, 1, len(data)),
        ]
        directory = struct.pack(f"{end}H", len(tags))
        for tag, kind, count, value in tags:
            packed = struct.pack(
                f"{end}HH" if kind == 3 else f"{end}I", *((value, 0) if kind == 3 else (value,))
            )
            directory += struct.pack(f"{end}HHI", tag, kind, count) + packed
        start = mark + struct.pack(f"{end}HI", 42, 8 + len(data))
        file = start + data + directory + bytes(4)
        assert np.abs(opened(file)[0, :, 0].astype(int) - want).max() == 0


def test_floating_point_tiff() -> None:
    unit = np.tile(np.linspace(0, 1, 256, dtype=np.float32), (20, 1))
    want = np.arange(256)
    assert np.abs(opened(encoded(Image.fromarray(unit), "TIFF"))[0, :, 0] - want).max() <= 1
    nasty = unit.copy()
    nasty[1, 0], nasty[2, 0], nasty[3, 0] = np.nan, np.inf, -np.inf
    assert np.abs(opened(encoded(Image.fromarray(nasty), "TIFF"))[0, :, 0] - want).max() <= 1
    odd = open_photo(encoded(Image.fromarray(unit * 1e6), "TIFF"))
    assert any("brightest" in note for note in odd.notes)
    assert int(odd.rgb.max()) == 255


def test_transparent_parts_are_white_and_said_so() -> None:
    picture = np.zeros((30, 40, 4), np.uint8)
    picture[:, 20:, 3] = 255  # black where solid, black but transparent elsewhere
    for file in (
        encoded(Image.fromarray(picture), "PNG"),
        encoded(Image.fromarray(picture), "WEBP", lossless=True),
        encoded(Image.fromarray(picture), "TIFF"),
        encoded(Image.fromarray(picture).convert("LA"), "PNG"),
        encoded(Image.fromarray(picture), "GIF"),
    ):
        photo = open_photo(file)
        assert photo.rgb[15, 5].tolist() == [255, 255, 255]
        assert photo.rgb[15, 35].max() <= 2
        assert photo.notes == ("Transparent parts are taken as white",)


def test_transparent_edges_do_not_darken_when_shrunk() -> None:
    picture = np.zeros((64, 64, 4), np.uint8)
    picture[..., 3] = 0
    picture[::2, ::2] = (255, 255, 255, 255)
    rgb = opened(encoded(Image.fromarray(picture), "PNG"), at_least=(32, 32))
    assert rgb.min() == 255


def test_solid_alpha_is_no_news() -> None:
    assert open_photo(encoded(Image.new("RGBA", (40, 30), "navy"), "PNG")).notes == ()


def frames() -> list[Image.Image]:
    return [Image.new("RGB", (40, 30), shade) for shade in ("white", "black", "gray")]


@pytest.mark.parametrize("kind", ["GIF", "WEBP", "PNG", "TIFF"])
def test_only_the_first_frame_or_page_is_used_and_that_is_said(kind: str) -> None:
    first, *more = frames()
    photo = open_photo(encoded(first, kind, save_all=True, append_images=more))
    assert photo.info.frames == 3
    assert photo.rgb.min() >= 254
    what = "pages" if kind == "TIFF" else "frames"
    assert photo.notes == (f"Only the first of 3 {what} is used",)


def test_a_phone_photo_with_a_second_picture_behind_it_is_a_jpeg() -> None:
    first, *more = frames()
    photo = open_photo(encoded(first, "MPO", save_all=True, append_images=more))
    assert (photo.info.format, photo.info.frames, photo.notes) == ("JPEG", 1, ())
    assert photo.rgb.min() >= 254


# --- colour profiles -----------------------------------------------------------------------


def s15(*values: float) -> bytes:
    return b"".join(struct.pack(">i", round(v * 65536)) for v in values)


def icc_profile(space: bytes, tags: dict[bytes, bytes]) -> bytes:
    """Build a version 2 display profile (ICC.1:2001-04, clauses 6 and 6.5)."""
    header = bytearray(128)
    header[8:12] = bytes((2, 0x20, 0, 0))
    header[12:24] = b"mntr" + space + b"XYZ "
    header[24:36] = struct.pack(">6H", 2020, 1, 1, 0, 0, 0)
    header[36:40] = b"acsp"
    header[68:80] = s15(0.9642, 1.0, 0.8249)
    text = b"desc" + bytes(4) + struct.pack(">I", 5) + b"test\x00" + bytes(8 + 3 + 67)
    tags = {b"desc": text, b"wtpt": b"XYZ " + bytes(4) + s15(0.9642, 1.0, 0.8249), **tags}
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        padded = data + bytes(-len(data) % 4)
        table += name + struct.pack(">II", start + len(body), len(data))
        body += padded
    profile = bytes(header) + table + body
    return struct.pack(">I", len(profile)) + profile[4:]


def gamma(value: float) -> bytes:
    return b"curv" + bytes(4) + struct.pack(">IH", 1, round(value * 256))


def wide_profile() -> bytes:
    """Adobe RGB (1998): primaries adapted to D50 and gamma 563/256, from memory."""
    primaries = {
        b"rXYZ": (0.60974, 0.31111, 0.01947),
        b"gXYZ": (0.20528, 0.62567, 0.06087),
        b"bXYZ": (0.14919, 0.06322, 0.74457),
    }
    tags = {name: b"XYZ " + bytes(4) + s15(*xyz) for name, xyz in primaries.items()}
    return icc_profile(b"RGB ", tags | dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), gamma(563 / 256)))


@pytest.mark.long
def test_wide_gamut_profile_agrees_with_colour_science(colour_science: Any) -> None:
    """Against colour-science's RGB_to_RGB between Adobe RGB (1998) and sRGB."""
    rng = np.random.default_rng(1)
    picture = rng.integers(70, 180, (16, 16, 3), dtype=np.uint8)  # stays within sRGB
    expected = colour_science.RGB_to_RGB(
        picture / 255,
        colour_science.RGB_COLOURSPACES["Adobe RGB (1998)"],
        colour_science.RGB_COLOURSPACES["sRGB"],
        apply_cctf_decoding=True,
        apply_cctf_encoding=True,
    )
    inside = np.all((expected > 0.02) & (expected < 0.98), axis=2)
    assert inside.mean() > 0.8
    photo = open_photo(encoded(Image.fromarray(picture), "PNG", icc_profile=wide_profile()))
    assert photo.notes == ()
    off = np.abs(photo.rgb.astype(float) - expected * 255)[inside]
    assert off.max() <= 2.5
    assert np.abs(picture.astype(float) - expected * 255)[inside].max() > 10  # it does matter


def test_grey_profile_is_used() -> None:
    """A linear grey of 55/255 is sRGB 128 (IEC 61966-2-1)."""
    profile = icc_profile(b"GRAY", {b"kTRC": gamma(1.0)})
    for mode in ("L", "RGB", "LA"):
        image = Image.new("L", (40, 30), 55).convert(mode)
        rgb = opened(encoded(image, "PNG", icc_profile=profile))
        assert np.abs(rgb.astype(int) - 128).max() <= 1


@pytest.mark.parametrize(
    "profile",
    [
        b"nonsense",
        bytes(200),
        wide_profile()[:300],
        icc_profile(b"CMYK", {}),
        icc_profile(b"RGB ", {}),
        icc_profile(b"HSV ", {}),
    ],
)
def test_unusable_profile_is_ignored_with_a_note(profile: bytes) -> None:
    photo = open_photo(encoded(Image.fromarray(quarters()), "PNG", icc_profile=profile))
    assert_upright(photo.rgb, 0)
    assert photo.notes == (
        "The embedded colour profile cannot be used; the colours are taken as sRGB",
    )


# --- what is refused -----------------------------------------------------------------------


def refusal(source: Any) -> BurnplanError:
    with pytest.raises(BadInput) as caught:
        open_photo(source)
    with pytest.raises(BadInput):
        look(source)
    error = caught.value
    for sentence in (error.message, str(error.remedy)):
        assert sentence
        assert "\n" not in sentence
        assert not sentence.endswith(".")
    return error


@pytest.mark.parametrize(
    ("start", "what"),
    [
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "a PDF document"),
        (b"\n%PDF-1.4\n", "a PDF document"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", "a PostScript drawing"),
        (b"PK\x03\x04\x14\x00", "a zip archive"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "a vector drawing"),
        (b"<?xml version='1.0'?><svg/>", "vector drawing"),
        (b"\xef\xbb\xbf<!DOCTYPE html><html></html>", "a web page"),
        (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00", "a video"),
        (b"\x00\x00\x00\x18ftypcrx \x00\x00\x00\x01", "a camera raw file"),
        (b"II*\x00\x10\x00\x00\x00CR\x02\x00", "a camera raw file"),
        (b"8BPS\x00\x01", "a layered document of a painting program"),
    ],
)
def test_other_kinds_of_file_are_named(tmp_path: Path, start: bytes, what: str) -> None:
    path = tmp_path / "holiday.jpg"
    path.write_bytes(start + bytes(500))
    error = refusal(path)
    assert what in error.message
    assert error.message.startswith("holiday.jpg is ")


def test_text_is_no_photo(tmp_path: Path) -> None:
    path = tmp_path / "notes.jpg"
    path.write_text("call the client on Friday\n" * 20, encoding="utf-8")
    assert refusal(path).message == "notes.jpg is not a photo that can be read"


def test_dng_is_raw() -> None:
    image = Image.fromarray(quarters())
    file = encoded(image, "TIFF", tiffinfo={50706: b"\x01\x04\x00\x00"})
    assert "camera raw" in refusal(file).message


def test_folder_missing_empty_and_special_files(tmp_path: Path) -> None:
    assert "is a folder" in refusal(tmp_path).message
    assert "There is no file" in refusal(tmp_path / "gone.jpg").message
    assert "There is no file" in refusal("").message or "folder" in refusal("").message
    empty = tmp_path / "empty.jpg"
    empty.touch()
    assert "empty (0 bytes)" in refusal(empty).message
    pipe = tmp_path / "pipe.jpg"
    os.mkfifo(pipe)
    assert "not an ordinary file" in refusal(pipe).message
    refusal("bad\0name.jpg")
    assert "\n" not in refusal("line\nbreak.jpg").message


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "locked.jpg"
    path.write_bytes(b"x")

    def locked(*_args: object, **_options: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", locked)  # tests may run as a user who may read all
    assert "no permission to read locked.jpg" in refusal(path).message


def test_too_small() -> None:
    for size in ((1, 1), (1, 500), (500, 15)):
        error = refusal(encoded(Image.new("RGB", size), "PNG"))
        assert f"{size[0]} × {size[1]} pixels" in error.message


def png_claiming(width: int, height: int) -> bytes:
    def chunk(name: bytes, data: bytes) -> bytes:
        check = zlib.crc32(name + data)
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", check)

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(bytes(100)))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("edge", [18_000, 30_000, 60_000])
def test_decompression_bombs_are_refused_with_the_limit(edge: int) -> None:
    limit = Image.MAX_IMAGE_PIXELS
    error = refusal(png_claiming(edge, edge))
    assert "300" in error.message
    assert "megapixels" in error.message
    assert limit == Image.MAX_IMAGE_PIXELS  # what the rest of the program relies on is put back
    assert MAX_PIXELS == 300_000_000


def samples() -> dict[str, bytes]:
    picture = Image.fromarray(np.random.default_rng(2).integers(0, 256, (64, 96, 3), np.uint8))
    first, *more = frames()
    return {
        "JPEG": encoded(picture, "JPEG", icc_profile=wide_profile()),
        "PNG": encoded(picture, "PNG"),
        "TIFF": encoded(picture, "TIFF", compression="tiff_lzw"),
        "WEBP": encoded(picture, "WEBP"),
        "GIF": encoded(first, "GIF", save_all=True, append_images=more),
        "BMP": encoded(picture, "BMP"),
        "AVIF": encoded(picture, "AVIF"),
        "JPEG2000": encoded(picture, "JPEG2000"),
        "HEIF": as_heic(picture),
    }


@pytest.mark.parametrize("kind", samples())
def test_cut_short(kind: str) -> None:
    whole = samples()[kind]
    cut = 60 if kind == "GIF" else len(whole) // 2  # half a GIF still has its first frame
    with pytest.raises(BadInput, match=r"damaged or cut short|not a photo"):
        open_photo(whole[:cut])


@pytest.mark.parametrize(
    "kind",
    [pytest.param(one, marks=pytest.mark.long) if one == "GIF" else one for one in samples()],
)
def test_damage_anywhere_ends_in_a_photo_or_one_sentence(kind: str) -> None:
    whole = samples()[kind]
    rng = np.random.default_rng(3)
    # Anything but BadInput, a warning included, fails the test.
    damaged = [whole[:cut] for cut in np.linspace(1, len(whole) - 1, 25).astype(int)]
    for _ in range(60):
        broken = bytearray(whole)
        reach = int(rng.choice([40, 400, len(whole)]))
        for at in rng.integers(0, min(reach, len(whole)), 3):
            broken[at] = int(rng.integers(0, 256))
        damaged.append(bytes(broken))
    for file in damaged:
        try:
            photo = open_photo(file, at_least=(32, 32))
        except BadInput:
            continue
        assert photo.rgb.dtype == np.uint8
        assert photo.rgb.shape[2] == 3


def test_memory_running_out_is_an_operation_that_failed(monkeypatch: pytest.MonkeyPatch) -> None:
    def exhausted(*_args: object) -> None:
        raise MemoryError

    monkeypatch.setattr(photo_module, "_to_srgb", exhausted)
    with pytest.raises(OperationFailed, match="Memory ran out"):
        open_photo(encoded(Image.fromarray(quarters()), "PNG"))


# --- ways in -------------------------------------------------------------------------------


class Pipe(io.RawIOBase):
    """A stream that can be read once, as from a pipe."""

    def __init__(self, data: bytes) -> None:
        self._rest = io.BytesIO(data)

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        return self._rest.readinto(buffer)


def test_paths_bytes_and_streams(tmp_path: Path) -> None:
    file = encoded(Image.fromarray(quarters()), "PNG")
    path = tmp_path / "photo.png"
    path.write_bytes(file)
    with path.open("rb") as stream:
        for source in (
            path,
            str(path),
            file,
            io.BytesIO(file),
            stream,
            io.BufferedReader(Pipe(file)),
        ):
            assert_upright(open_photo(source).rgb, 0)
    assert look(path).size == (96, 64)


def test_progress_rises_from_nothing_to_all() -> None:
    told: list[tuple[float, str]] = []
    open_photo(
        encoded(Image.fromarray(quarters()), "JPEG"),
        on_progress=lambda done, label: told.append((done, label)),
    )
    fractions = [done for done, _label in told]
    assert fractions == sorted(fractions)
    assert (fractions[0], fractions[-1]) == (0.0, 1.0)
    assert all(label for _done, label in told)


def test_twenty_thousand_pixel_panorama() -> None:
    wide = np.tile(np.arange(20_000, dtype=np.uint32) * 255 // 19_999, (400, 1)).astype(np.uint8)
    photo = open_photo(encoded(Image.fromarray(wide), "JPEG"), at_least=(2500, 50))
    assert photo.full_size == (20_000, 400)
    assert photo.rgb.shape == (50, 2500, 3)
    assert photo.rgb[25, 10].max() < 5
    assert photo.rgb[25, -10].min() > 250


class _Stopped(BurnplanError):
    """Somebody stopped the work."""


@pytest.mark.parametrize("label", ["Opening the photo", "Decoding the photo", "Photo open"])
def test_a_photo_that_somebody_stopped_reading_is_not_damaged(tmp_path: Path, label: str) -> None:
    path = tmp_path / "cat.png"
    Image.new("RGB", (300, 200), "tan").save(path)

    def stop(_share: float, what: str) -> None:
        if what == label:
            raise _Stopped("Stopped", "Nothing was changed")

    with pytest.raises(_Stopped):
        open_photo(path, on_progress=stop)
