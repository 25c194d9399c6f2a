"""A picture of the photo or its zones, as large as fits."""

from typing import TYPE_CHECKING, cast

from rich.segment import Segment
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from burnplan.show.picture import asked_for
from burnplan.unbroken import wrapped
from burnplan.workbench import blocks
from burnplan.workbench.dots import Dots
from burnplan.workbench.sharp import Overlay, SharpPictures
from burnplan.workbench.terminal import Way

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

_LEVELS = 128  # of lightness
_IN_SIXELS = 64  # the same where each line names them all: 128 take twice as long (measured)


class Picture(Widget):
    """A picture as large as fits; it stays empty until it is given one.

    Parameters
    ----------
    id : str, optional
    share : float
        Of the screen's height that it takes at most.
    """

    DEFAULT_CSS = "Picture { height: auto; width: 1fr; }"

    def __init__(self, *, id: str | None = None, share: float = 0.45) -> None:  # noqa: A002
        super().__init__(id=id)
        self._share = share
        self._pixels: npt.NDArray[np.uint8] | None = None
        self._words = ""
        self._drawn: tuple[object, list[Strip]] = (None, [])

    def on_mount(self) -> None:
        """Be laid in the terminal's own dots, where it has them."""
        self._bench.has_picture(self)

    def give(self, pixels: "npt.NDArray[np.uint8] | None", words: str = "") -> None:
        """Show a picture, uint8 RGBA of shape (height, width, 4), or none.

        What it shows in ``words`` stands beneath, and alone where no pictures are wanted.
        """
        if pixels is not self._pixels or words != self._words:
            self._pixels, self._drawn, self._words = pixels, (None, []), words
            self._bench.has_picture(self)
            self.refresh(layout=True)

    def _said(self, width: int) -> list[str]:
        return wrapped(self._words, max(10, width)) if self._pixels is not None else []

    def notify_style_update(self) -> None:
        """Draw again: another ground shows where the picture is clear."""
        super().notify_style_update()
        self._drawn = (None, [])
        self._bench.has_picture(self)

    def _columns(self, room: int) -> int:
        if self._pixels is None or room < 2 or not asked_for():
            return 0
        height, width = map(int, self._pixels.shape[:2])
        # Less than half of the screen, so that what is below it is seen as well.
        tallest = max(8, int(self.app.size.height * self._share))
        return max(2, min(room, int(tallest * self._aspect * width / height)))

    @property
    def _aspect(self) -> float:
        return self._bench.terminal.aspect

    @property
    def _bench(self) -> SharpPictures:
        return cast("SharpPictures", self.app)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """Return the rows taken at a width."""
        return self._rows(self._columns(width)) + len(self._said(width))

    def _rows(self, columns: int) -> int:
        if self._pixels is None or not columns:
            return 0
        height, across = self._pixels.shape[:2]
        return max(1, round(float(columns * height / across / self._aspect)))

    def render_line(self, y: int) -> Strip:
        """Return one line of cells."""
        columns = self._columns(self.size.width)
        style = self.visual_style.rich_style
        of = columns, self._aspect
        if columns and self._drawn[0] != of:
            self._drawn = of, self._draw(columns)
        lines, said = self._drawn[1] if columns else [], self._said(self.size.width)
        if y < len(lines):
            letters = blocks.depth_of(self.app) is blocks.Depth.LETTERS  # have no colours of theirs
            return lines[y].apply_style(style) if letters else lines[y]
        if y - len(lines) < len(said):
            words = Strip([Segment(said[y - len(lines)], style)])
            return words.adjust_cell_length(self.size.width, style)
        return Strip.blank(self.size.width, style)

    def _draw(self, columns: int) -> list[Strip]:
        import numpy as np

        assert self._pixels is not None  # noqa: S101  for the type checker: columns would be 0
        ground, room = self.background_colors[1].rgb, (columns * 2, self._rows(columns) * 2)
        dots = _in_tones(self._pixels, ground, room, _LEVELS, self._aspect)
        kinds = np.array([0] + [1] * _LEVELS, np.uint8)
        inks = blocks.Inks(dots.colours, kinds, self.app.current_theme.dark)
        return blocks.strips(dots.numbers, inks, blocks.depth_of(self.app))

    def overlay(self) -> Overlay | None:
        """Return the picture as it is laid over its cells."""
        columns = self._columns(self.size.width)
        if not columns or self._pixels is None:
            return None
        pixels = self._pixels
        ground = blocks.as_shown(self.background_colors[1], blocks.depth_of(self.app))
        cells = Region(0, 0, columns, self._rows(columns))
        levels = _IN_SIXELS if self._bench.terminal.way is Way.SIXELS else _LEVELS
        return Overlay(
            cells, lambda *room: _in_tones(pixels, ground, room, levels), (id(pixels), ground)
        )


def _in_tones(
    pixels: "npt.NDArray[np.uint8]",
    ground: tuple[int, int, int],
    room: tuple[int, int],
    levels: int,
    aspect: float = 1.0,
) -> Dots:
    """Return a picture in browns by their lightness, the ground where it is clear and round it.

    Browns are all that a picture of the photo or its zones is made of. A dot is ``aspect`` times
    as high as wide.
    """
    import numpy as np
    from PIL import Image

    from burnplan.tone.lightness import lightness
    from burnplan.tone.render import sepia_tones

    size = blocks.fitting(pixels.shape, room, aspect)
    how = Image.Resampling.BICUBIC if size[0] > pixels.shape[1] else Image.Resampling.BOX
    sized = np.asarray(Image.fromarray(pixels).resize(size, how))
    level = np.rint(lightness(sized[..., :3]) / 100 * (levels - 1))
    numbers = blocks.amid(np.where(sized[..., 3] < 128, 0, level + 1).astype(np.uint8), room)
    return Dots(numbers, np.concatenate([np.array([ground], np.uint8), sepia_tones(levels)]))
