"""The face that words and numbers in pictures are set in: that of printed sheets."""

import io
from functools import cache
from importlib import resources

from PIL import ImageFont


@cache
def face(weight: str, size: int) -> ImageFont.FreeTypeFont:
    """Return Source Sans (SIL Open Font License), of a height in pixels."""
    folder = resources.files("font_source_sans_pro") / "files"
    data = (folder / f"SourceSansPro-{weight}.ttf").read_bytes()
    return ImageFont.truetype(io.BytesIO(data), size)
