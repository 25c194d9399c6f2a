"""Pictures of a piece, packed for a PDF."""

import io

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from reportlab.lib.utils import ImageReader

from burnplan.outline import Outline
from burnplan.sheets.drawing import Drawing
from burnplan.sheets.lettering import POINTS_PER_MM
from burnplan.tone.place import outline_mask

_JPEG_QUALITY = 92


def packed(picture: NDArray[np.uint8], outline: Outline) -> ImageReader:
    """Pack a picture (RGB) of an outline's bounding box, without loss that shows.

    The PDF carries it as it is. Its colours go on past the outline's staircase of
    pixels, so that the outline cuts through colour.
    """
    file = io.BytesIO()
    image = Image.fromarray(_carried_over_the_edge(picture, outline))
    image.save(file, "JPEG", quality=_JPEG_QUALITY, subsampling=0)
    file.seek(0)
    return ImageReader(file)


def draw_photo(drawing: Drawing, image: ImageReader, outline: Outline) -> None:
    """Draw a packed picture at true size."""
    size = outline.width_mm * POINTS_PER_MM, outline.height_mm * POINTS_PER_MM
    drawing.canvas.drawImage(image, 0, 0, *size)


def _carried_over_the_edge(picture: NDArray[np.uint8], outline: Outline) -> NDArray[np.uint8]:
    """Carry colours on past the outline's staircase of pixels, so that it cuts through colour."""
    height, width = picture.shape[:2]
    inside = outline_mask(outline, (height, width), width / outline.width_mm)
    if inside.all():
        return picture
    weight = inside.astype(np.float32)
    near = cv2.blur(weight, (5, 5), borderType=cv2.BORDER_CONSTANT)
    colour = cv2.blur(picture * weight[..., None], (5, 5), borderType=cv2.BORDER_CONSTANT)
    rim = (near > 0) & ~inside
    carried = picture.copy()
    carried[rim] = np.rint(colour[rim] / near[rim][:, None]).astype(np.uint8)
    return carried
