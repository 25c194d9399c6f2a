"""Open any photo safely, as upright sRGB.

Whatever is wrong with a file ends in one :class:`~burnplan.errors.BadInput`;
whatever is merely unusual (a colour profile that cannot be read, transparent
parts, an animation) is used as well as can be and said in a note.
"""

import io
import logging
import math
import os
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageCms, UnidentifiedImageError

from burnplan.errors import BadInput, BurnplanError, OperationFailed
from burnplan.progress import Progress, silent

Source = str | os.PathLike[str] | bytes | BinaryIO

MAX_PIXELS = 300_000_000
"""Most pixels a photo may have; beyond lies a stitched giant or a decompression bomb.
A limit by definition."""

MIN_EDGE = 16
"""Fewest pixels along an edge that say anything about tone (our own limit)."""

_FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "GIF", "BMP", "DIB", "PPM", "JPEG2000", "AVIF")
_READABLE = "JPEG, PNG, TIFF, WebP or HEIC"

# The first bytes of things that are commonly taken for photos.
_NOT_PHOTOS = (
    (b"%PDF", "a PDF document"),
    (b"%!PS", "a PostScript drawing"),
    (b"PK\x03\x04", "a zip archive or an office document"),
    (b"8BPS", "a layered document of a painting program"),
    (b"\xd0\xcf\x11\xe0", "an office document"),
    (b"SQLite format 3", "a database"),
    (b"<svg", "a vector drawing"),
    (b"<?xml", "an XML document or vector drawing"),
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
    (b"\x1aE\xdf\xa3", "a video"),
    (b"FUJIFILMCCD-RAW", "a camera raw file"),
    (b"IIU\x00", "a camera raw file"),
    (b"IIRO", "a camera raw file"),
)
_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1")
_VIDEO_BRANDS = (b"isom", b"iso2", b"mp41", b"mp42", b"avc1", b"qt  ", b"M4V ", b"3gp4", b"3gp5")
_DNG_VERSION = 50706  # TIFF tag that only camera raw in DNG carries
_BITS_PER_SAMPLE = 258  # TIFF 6.0, from memory
_PHOTOMETRIC = 262  # TIFF 6.0, from memory

_UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}  # EXIF orientation, from memory

# What Pillow has to say of a broken file is said by our own error.
logging.getLogger("PIL").addHandler(logging.NullHandler())

# Pillow keeps its pixel limit in a module global and warns through the global
# warnings state, so only one photo is opened at a time.
_PILLOW = threading.RLock()


@dataclass(frozen=True, slots=True)
class PhotoInfo:
    """What a photo file says of itself.

    Parameters
    ----------
    format : str
        File format, for example ``"JPEG"``.
    size : tuple of int
        Width and height in pixels once upright.
    frames : int
        Frames or pages; only the first is used.
    """

    format: str
    size: tuple[int, int]
    frames: int


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """An opened photo.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        Upright sRGB; may be smaller than the original, see :func:`open_photo`.
    full_size : tuple of int
        Width and height in pixels of the upright original.
    info : PhotoInfo
    notes : tuple of str
        What was assumed or ignored, a sentence each.
    """

    rgb: NDArray[np.uint8]
    full_size: tuple[int, int]
    info: PhotoInfo
    notes: tuple[str, ...] = ()


def look(source: Source) -> PhotoInfo:
    """Read what a photo says of itself without decoding it.

    Parameters
    ----------
    source : path, bytes or binary file

    Returns
    -------
    PhotoInfo

    Raises
    ------
    BadInput
        If it is not a photo that can be used.
    """
    with _decoder(source) as image:
        return _describe(image)


def open_photo(
    source: Source,
    *,
    at_least: tuple[int, int] | None = None,
    on_progress: Progress | None = None,
) -> Photo:
    """Open a photo as upright 8-bit sRGB.

    Shrinking averages sRGB code values, as photo editors do by default.

    Parameters
    ----------
    source : path, bytes or binary file
    at_least : tuple of int, optional
        Width and height in pixels, upright, that are enough. The photo is then
        shrunk by a whole factor while decoding, never below this size.
    on_progress : Progress, optional

    Returns
    -------
    Photo

    Raises
    ------
    BadInput
        If it is not a photo that can be used: missing, no permission, a
        folder, empty, another kind of file, damaged, too small or too large.
    OperationFailed
        If memory runs out while opening it.
    """
    progress = on_progress or silent
    progress(0.0, "Opening the photo")
    notes: list[str] = []
    with _decoder(source) as image:
        info = _describe(image)
        if info.frames > 1:
            what = "pages" if info.format == "TIFF" else "frames"
            notes.append(f"Only the first of {info.frames} {what} is used")
        progress(0.1, "Decoding the photo")
        swapped = _orientation(image) >= 5
        if at_least is not None:
            image.draft(None, at_least[::-1] if swapped else at_least)
        image.load()
        progress(0.7, "Converting colours")
        # Asked again, since some formats keep the orientation behind the pixels.
        orientation = _orientation(image, loaded=True)
        if (orientation >= 5) != swapped:
            info = replace(info, size=info.size[::-1])
        upright = _to_srgb(image, orientation, at_least, notes)
        rgb: NDArray[np.uint8] = np.asarray(upright)
    progress(1.0, "Photo open")
    return Photo(rgb=rgb, full_size=info.size, info=info, notes=tuple(notes))


def open_mask(source: Source, *, at_least: tuple[int, int] | None = None) -> NDArray[np.uint8]:
    """Open a picture that says what of a photo is kept: white; black is dropped out.

    Where it has transparent parts these are dropped out, whatever their
    colour: a cut-out of the photo itself serves as a mask.

    Parameters
    ----------
    source : path, bytes or binary file
    at_least : tuple of int, optional
        Width and height in pixels, upright, that are enough.

    Returns
    -------
    ndarray of uint8, shape (H, W)
        Upright: 255 keeps, 0 drops out, between them fades.

    Raises
    ------
    BadInput
        If it is not a picture that can be used.
    """
    with _decoder(source) as image:
        image.load()
        orientation = _orientation(image, loaded=True)
        if image.has_transparency_data:
            plain = image.convert("RGBA").getchannel("A")
        else:
            plain = _eight_bit(image, []).convert("L")
        if at_least is not None:
            wanted = at_least[::-1] if orientation >= 5 else at_least
            factor = min(plain.width // max(wanted[0], 1), plain.height // max(wanted[1], 1))
            plain = plain.reduce(factor) if factor >= 2 else plain
        upright = plain.transpose(_UPRIGHT[orientation]) if orientation in _UPRIGHT else plain
        return np.asarray(upright, np.uint8)


@contextmanager
def _decoder(source: Source) -> Iterator[Image.Image]:
    """Give the identified, not yet decoded image; every failure is a BadInput."""
    with _file(source) as (stream, name), _PILLOW, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what matters is said in notes or errors
        limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, MAX_PIXELS
        try:
            head = stream.read(64)
            stream.seek(0)
            _refuse_by_head(head, name)
            with Image.open(stream, formats=_formats_for(head)) as image:
                _refuse_by_size(image, name)
                yield image
        except BurnplanError:  # who stops it is no damage of the photo
            raise
        except Image.DecompressionBombError:
            raise _too_large(name, None) from None
        except UnidentifiedImageError:
            raise BadInput(
                f"{name} is not a photo that can be read", f"Use a {_READABLE} file"
            ) from None
        except MemoryError:
            raise OperationFailed(
                f"Memory ran out while opening {name}", "Save a smaller copy and use that"
            ) from None
        except Exception as error:  # decoders raise anything at damaged files
            raise BadInput(
                f"{name} is damaged or cut short",
                "Copy it again from the camera or phone, or save it anew from a photo viewer",
            ) from error
        finally:
            Image.MAX_IMAGE_PIXELS = limit


def day_taken(source: Source) -> date | None:
    """Return the day a photo says it was taken, by its EXIF data; None if it does not say.

    Parameters
    ----------
    source : path, bytes or binary file
        As for :func:`open_photo`.

    Raises
    ------
    BadInput
        If it is not a photo that can be used.
    """
    with _decoder(source) as image:
        taken = image.getexif().get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.DateTimeOriginal)
    try:
        return date.fromisoformat(str(taken)[:10].replace(":", "-"))
    except ValueError:
        return None


@contextmanager
def _file(source: Source) -> Iterator[tuple[BinaryIO, str]]:
    """Give a seekable binary stream and a name to call it by."""
    if isinstance(source, bytes):
        yield io.BytesIO(source), "The photo"
        return
    if not isinstance(source, str | os.PathLike):
        name = _printable(Path(str(getattr(source, "name", "The photo"))).name)
        stream = source if source.seekable() else io.BytesIO(source.read())
        stream.seek(0)
        yield stream, name
        return
    path = Path(source)
    name = _printable(path.name or str(path))
    try:
        if path.is_dir():
            raise BadInput(f"{name} is a folder, not a photo", "Give one photo inside it")
        if path.exists() and not path.is_file():
            raise BadInput(f"{name} is not an ordinary file", f"Use a {_READABLE} file")
        opened = path.open("rb")
    except FileNotFoundError:
        raise BadInput(
            f"There is no file {_printable(str(path))}", "Check the folder and the spelling"
        ) from None
    except PermissionError:
        raise BadInput(
            f"There is no permission to read {name}", "Change its permissions or copy it elsewhere"
        ) from None
    except (OSError, ValueError):
        raise BadInput(
            f"{name} cannot be read", "Check the name and that the disk is still connected"
        ) from None
    with opened as stream:
        yield stream, name


def _printable(text: str) -> str:
    """Show a name on one line, whatever characters are in it."""
    shown = "".join(letter if letter.isprintable() else "?" for letter in text)
    return shown if len(shown) <= 120 else shown[:117] + "..."


def _formats_for(head: bytes) -> tuple[str, ...]:
    """Return the decoders to try; the HEIC one is loaded only for HEIC."""
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS:
        import pillow_heif  # only here: a large library that few photos need

        pillow_heif.register_heif_opener()
        return ("HEIF", "AVIF")
    for magic, kind in ((b"\xff\xd8\xff", "JPEG"), (b"\x89PNG", "PNG"), (b"GIF8", "GIF")):
        if head.startswith(magic):
            Image.preinit()  # these few load quickly; init loads every decoder there is
            return (kind,)
    Image.init()
    return tuple(kind for kind in _FORMATS if kind in Image.OPEN)


def _refuse_by_head(head: bytes, name: str) -> None:
    """Name what the file is when its first bytes show that it is no photo."""
    if not head:
        raise BadInput(f"{name} is empty (0 bytes)", "Copy it again from the camera or phone")
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    for magic, what in _NOT_PHOTOS:
        if start.startswith(magic.lower()):
            raise BadInput(f"{name} is {what}, not a photo", f"Save the picture as {_READABLE}")
    brand = head[8:12] if head[4:8] == b"ftyp" else b""
    if brand == b"crx " or (head[:4] in (b"II*\x00", b"MM\x00*") and head[8:10] == b"CR"):
        raise _raw(name)
    if brand in _VIDEO_BRANDS or (head[:4] == b"RIFF" and head[8:12] == b"AVI "):
        raise BadInput(f"{name} is a video, not a photo", "Save one frame of it as a photo")


def _refuse_by_size(image: Image.Image, name: str) -> None:
    """Refuse photos too large to hold, too small to use, and raw previews."""
    width, height = image.size
    if width * height > MAX_PIXELS:
        raise _too_large(name, image.size)
    if min(width, height) < MIN_EDGE:
        raise BadInput(
            f"{name} is only {width} × {height} pixels, too small to plan from",
            f"Use a photo of at least {MIN_EDGE} × {MIN_EDGE} pixels, better 1000 or more",
        )
    if image.format == "TIFF" and _DNG_VERSION in getattr(image, "tag_v2", {}):
        raise _raw(name)


def _raw(name: str) -> BadInput:
    return BadInput(
        f"{name} is a camera raw file, not a finished photo",
        "Develop it in the camera or a photo editor and save it as JPEG or TIFF",
    )


def _too_large(name: str, size: tuple[int, int] | None) -> BadInput:
    much = f"{size[0]} × {size[1]} = {math.prod(size) / 1e6:.0f}" if size else "far too many"
    return BadInput(
        f"{name} has {much} megapixels; the most that can be opened is {MAX_PIXELS / 1e6:.0f}",
        "Save a smaller copy and use that",
    )


def _orientation(image: Image.Image, *, loaded: bool = False) -> int:
    """Return the EXIF orientation, 1 to 8, that is still to be applied."""
    if image.format == "TIFF":
        return 1  # Pillow turns TIFF upright itself while loading
    if image.format == "PNG" and not loaded and "exif" not in image.info:
        return 1  # Pillow would decode all of it to look behind the pixels
    try:
        value = image.getexif().get(ExifTags.Base.Orientation, 1)
    except Exception:  # noqa: BLE001 - a broken EXIF block only costs the orientation
        return 1
    return value if isinstance(value, int) and value in _UPRIGHT else 1


def _describe(image: Image.Image) -> PhotoInfo:
    width, height = image.size
    if _orientation(image) >= 5:
        width, height = height, width
    kind = "JPEG" if image.format == "MPO" else str(image.format)
    frames = 1
    if kind in ("GIF", "WEBP", "PNG", "AVIF", "TIFF"):
        frames = int(getattr(image, "n_frames", 1))
    return PhotoInfo(
        format=kind,
        size=(width, height),
        frames=frames,
    )


def _to_srgb(
    image: Image.Image,
    orientation: int,
    at_least: tuple[int, int] | None,
    notes: list[str],
) -> Image.Image:
    """Turn a loaded image into upright 8-bit sRGB, shrunk where that is allowed."""
    profile = image.info.get("icc_profile")
    plain = _eight_bit(image, notes)
    if at_least is not None:
        wanted = at_least[::-1] if orientation >= 5 else at_least
        factor = min(plain.width // max(wanted[0], 1), plain.height // max(wanted[1], 1))
        if factor >= 2:
            plain = plain.reduce(factor)
    if plain.mode == "RGBA":
        plain = _on_white(plain, notes)
    if profile:
        plain = _from_profile(plain, profile, notes)
    elif plain.mode == "CMYK":
        notes.append("Printing colours without a profile: lightness is approximate")
    if plain.mode == "LAB":
        lab = ImageCms.createProfile("LAB")
        plain = _transformed(plain, ImageCms.ImageCmsProfile(lab))
    if plain.mode != "RGB":
        plain = plain.convert("RGB")
    return plain.transpose(_UPRIGHT[orientation]) if orientation in _UPRIGHT else plain


def _eight_bit(image: Image.Image, notes: list[str]) -> Image.Image:
    """Return the image as L, RGB, RGBA, CMYK or LAB."""
    if image.mode in ("I", "F") or image.mode.startswith("I;16"):
        return Image.fromarray(_scaled_to_bytes(image, notes))
    if image.has_transparency_data:
        return image if image.mode == "RGBA" else image.convert("RGBA")
    if image.mode in ("L", "RGB", "CMYK", "LAB"):
        return image
    return image.convert("L" if image.mode == "1" else "RGB")


def _scaled_to_bytes(image: Image.Image, notes: list[str]) -> NDArray[np.uint8]:
    """Scale deep grey pixels to 0-255 by the range their format means."""
    tags = getattr(image, "tag_v2", {})
    values = np.asarray(image)
    if image.mode.startswith("I;16"):
        bits = tags.get(_BITS_PER_SAMPLE, (16,))
        top = 4095 if bits and bits[0] == 12 else 65535
        table = np.clip(np.rint(np.arange(65536) * (255 / top)), 0, 255).astype(np.uint8)
        if tags.get(_PHOTOMETRIC) == 0:  # white is zero, which Pillow leaves as it is
            table = (255 - table).astype(np.uint8)
        return np.take(table, values)
    finite = np.nan_to_num(values.astype(np.float32), nan=0.0, posinf=0.0, neginf=0.0)
    most = float(finite.max())
    known = (65535.0,) if image.mode == "I" else (1.0, 255.0, 65535.0)
    top_value = next((top for top in known if most <= top), most)
    if top_value == most and most not in known:
        notes.append("An unusual number format: its brightest value is taken as white")
    return np.asarray(np.rint(np.clip(finite / max(top_value, 1e-12), 0, 1) * 255), np.uint8)


def _on_white(image: Image.Image, notes: list[str]) -> Image.Image:
    alpha = image.getchannel("A")
    lowest, _highest = alpha.getextrema()
    if isinstance(lowest, int | float) and lowest >= 255:
        return image.convert("RGB")
    notes.append("Transparent parts are taken as white")
    page = Image.new("RGB", image.size, "white")
    page.paste(image, mask=alpha)
    return page


def _from_profile(image: Image.Image, profile: bytes, notes: list[str]) -> Image.Image:
    """Convert to sRGB through the embedded profile, or say that it was ignored."""
    try:
        embedded = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        mode = {"GRAY": "L", "RGB ": "RGB", "CMYK": "CMYK", "Lab ": "LAB"}.get(
            embedded.profile.xcolor_space
        )
        if mode is None or (mode != image.mode and "CMYK" in (mode, image.mode)):
            raise ImageCms.PyCMSError("the profile is for other pixels")
        return _transformed(image if image.mode == mode else image.convert(mode), embedded)
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        notes.append("The embedded colour profile cannot be used; the colours are taken as sRGB")
        return image


def _transformed(image: Image.Image, profile: ImageCms.ImageCmsProfile) -> Image.Image:
    """Apply a colour profile: relative colorimetric with black-point compensation."""
    result = ImageCms.profileToProfile(
        image,
        profile,
        ImageCms.createProfile("sRGB"),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="RGB",
        flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )
    if result is None:
        raise ImageCms.PyCMSError("nothing came back")
    return result
