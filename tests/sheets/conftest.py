"""Readings of drawn photos and pages rendered as a printer would see them."""

import io
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from burnplan.outline import Outline
from burnplan.tone.analysis import PhotoAnalysis, analyse_photo

Render = Callable[..., NDArray[np.uint8]]

DPI = 300
MM = 25.4 / DPI
"""A pixel of a rendered page, mm."""


def drawn(seed: int = 5) -> bytes:
    """A dark disc and a mid square on a light ground that fades, with a soft cloud."""
    y, x = np.mgrid[:480, :640] + 0.5
    grey = 225 - x / 640 * 30
    grey[120:360, 360:580] = 120
    grey[(x - 180) ** 2 + (y - 240) ** 2 < 110**2] = 25
    grey -= 40 * np.exp(-((x - 330) ** 2 + (y - 60) ** 2) / 60**2)
    grey += np.random.default_rng(seed).normal(0, 1.5, grey.shape)
    file = io.BytesIO()
    Image.fromarray(np.dstack([grey.clip(0, 255).astype(np.uint8)] * 3)).save(file, "PNG")
    return file.getvalue()


def read(outline: Outline, source: bytes | None = None) -> PhotoAnalysis:
    """A reading of a drawn photo on an outline."""
    return analyse_photo(source or drawn(), outline, wood_lightness=82, burn_lightness=18)


@pytest.fixture
def render() -> Render:
    """Render a page of a PDF at 300 dpi, in grey unless colour is asked for."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm is missing: install poppler-utils to measure printed pages")

    def rendered(path: Path, page: int, *, colour: bool = False) -> NDArray[np.uint8]:
        number = str(page)
        done = subprocess.run(
            ["pdftoppm", "-r", str(DPI), "-f", number, "-l", number]
            + ([] if colour else ["-gray"])
            + [str(path)],
            check=True,
            capture_output=True,
        )
        assert done.stderr == b""
        return np.asarray(Image.open(io.BytesIO(done.stdout)))

    return rendered
