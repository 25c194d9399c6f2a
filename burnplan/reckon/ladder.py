"""The tone ladder: how dark each setting burns, on one wood with one tip.

A strip of patches, each burned at a setting, with the lightness it came out at.
More setting never burns lighter, so the fit is the closest line that never
rises (isotonic regression, pool adjacent violators) joined by a monotone cubic
(PCHIP, Fritsch and Carlson 1980); read backwards it gives the setting for a
value, or says plainly that this wood cannot reach it. Nothing is guessed beyond
the patches.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from burnplan.errors import BadInput
from burnplan.reckon.monotone import MonotoneCubic, never_rising
from burnplan.units import format_setting

# Lightness that no eye and no camera tells apart, and which rounding may (a limit by definition).
_SAME = 1e-6
# Settings are told apart to this many decimals, up to this size (a limit by definition).
_DECIMALS, _MOST = 6, 1e6


@dataclass(frozen=True, slots=True)
class Patch:
    """One patch of a strip.

    Parameters
    ----------
    setting : float
        On a scale where more burns darker: the artist's own dial, °C, strokes,
        seconds per centimetre (not its inverse, a speed).
    lightness : float
        L*, 0 to 100.
    weight : float
        How much it counts, above 0.
    """

    setting: float
    lightness: float
    weight: float = 1.0


class Reach(StrEnum):
    """Whether a lightness can be burned."""

    REACHED = "reached"
    TOO_DARK = "too dark"
    TOO_LIGHT = "too light"
    UNTRIED = "untried"


@dataclass(frozen=True, slots=True)
class Setting:
    """The setting for a value.

    Parameters
    ----------
    wanted : float
        L*.
    setting : float
        That burns it, or comes nearest.
    lightness : float
        L* expected there.
    reach : Reach
        TOO_DARK for darker than any patch, TOO_LIGHT for lighter than the bare
        wood, UNTRIED for lighter than any patch but not than the wood.
    """

    wanted: float
    setting: float
    lightness: float
    reach: Reach

    def in_words(self) -> str:
        """Return it as a sentence without a full stop.

        Examples
        --------
        >>> Setting(14, 9, 22, Reach.TOO_DARK).in_words()
        'not reachable: L* 14 is darker than this ladder goes, L* 22 at 9'
        """
        wanted = f"L* {self.wanted:.0f}"
        nearest = f"L* {self.lightness:.0f} at {format_setting(self.setting)}"
        match self.reach:
            case Reach.REACHED:
                return nearest
            case Reach.TOO_DARK:
                return f"not reachable: {wanted} is darker than this ladder goes, {nearest}"
            case Reach.TOO_LIGHT:
                return f"not reachable: {wanted} is lighter than the bare wood"
            case Reach.UNTRIED:
                return f"not tried: {wanted} is lighter than the lightest patch, {nearest}"


@dataclass(frozen=True, slots=True)
class Ladder:
    """A fitted tone ladder.

    Parameters
    ----------
    settings : tuple of float
        Rising.
    lightness : tuple of float
        L* at each, never rising.
    bare : float or None
        L* of the bare wood, if known.
    """

    settings: tuple[float, ...]
    lightness: tuple[float, ...]
    bare: float | None = None

    @property
    def lightest(self) -> float:
        """L* of the lightest that was burned."""
        return self.lightness[0]

    @property
    def darkest(self) -> float:
        """L* of the darkest that was burned."""
        return self.lightness[-1]

    @property
    def _curve(self) -> MonotoneCubic:
        return MonotoneCubic(self.settings, self.lightness)

    def lightness_at(self, setting: float) -> float:
        """Return the L* expected at a setting; beyond the patches, that of the last one."""
        inside = min(max(setting, self.settings[0]), self.settings[-1])
        return self._curve(inside)

    def setting_for(self, wanted: float) -> Setting:
        """Return the setting that burns a lightness, or the nearest with the reason.

        Where several settings burn the same it is the one in their middle, the
        least far off whichever is right.
        """
        if wanted > self.lightest:
            too_light = self.bare is not None and wanted > self.bare
            reach = Reach.TOO_LIGHT if too_light else Reach.UNTRIED
            return Setting(wanted, self.settings[0], self.lightest, reach)
        if wanted < self.darkest:
            first = self.lightness.index(self.darkest)
            return Setting(wanted, self.settings[first], self.darkest, Reach.TOO_DARK)
        return Setting(wanted, self._inverse(wanted), wanted, Reach.REACHED)

    def _inverse(self, wanted: float) -> float:
        darkness = [-one for one in self.lightness]
        first = bisect_left(darkness, -wanted - _SAME)
        after = bisect_right(darkness, -wanted + _SAME)
        if first < after:
            return (self.settings[first] + self.settings[after - 1]) / 2
        return self._curve.where(wanted, self.settings[first - 1], self.settings[first])


def fit(patches: Sequence[Patch], bare: float | None = None) -> Ladder:
    """Fit a tone ladder to the patches of a strip.

    Parameters
    ----------
    patches : sequence of Patch
        In any order; several at one setting are averaged.
    bare : float, optional
        L* of the bare wood.

    Returns
    -------
    Ladder

    Raises
    ------
    BadInput
        If there are fewer than two settings, or a number is out of range.

    Examples
    --------
    >>> ladder = fit([Patch(1, 70), Patch(2, 55), Patch(3, 57), Patch(4, 30)])
    >>> [round(one, 1) for one in ladder.lightness]
    [70.0, 56.0, 56.0, 30.0]
    >>> ladder.setting_for(56).setting
    2.5
    """
    _check(patches, bare)
    sums: dict[float, tuple[float, float]] = {}
    for patch in patches:
        setting = round(patch.setting, _DECIMALS)
        weight, weighted = sums.get(setting, (0.0, 0.0))
        sums[setting] = weight + patch.weight, weighted + patch.weight * patch.lightness
    if len(sums) < 2:
        raise BadInput(
            "A tone ladder needs patches at two settings or more", "Burn and read one more patch"
        )
    settings = sorted(sums)
    lightness = never_rising(
        [sums[one][1] / sums[one][0] for one in settings], [sums[one][0] for one in settings]
    )
    return Ladder(tuple(settings), tuple(lightness), bare)


def _check(patches: Sequence[Patch], bare: float | None) -> None:
    for patch in patches:
        if not abs(patch.setting) <= _MOST:
            raise BadInput(
                f"A setting is a number up to a million, not {patch.setting}", "Check the patch"
            )
        if not (isfinite(patch.weight) and patch.weight > 0):
            raise BadInput("A patch's weight is a number above 0", "Leave the patch out instead")
    for lightness in (*(patch.lightness for patch in patches), *(() if bare is None else (bare,))):
        if not 0 <= lightness <= 100:
            raise BadInput(
                f"A lightness is from 0 (black) to 100 (white), not {lightness:g}",
                "Read the patch again",
            )


def settings_for(ladder: Ladder, zones: Mapping[int, float]) -> dict[int, Setting]:
    """Return the setting for each value zone.

    Parameters
    ----------
    ladder : Ladder
    zones : mapping
        L* wanted by zone, as this wood is to show it.
    """
    return {zone: ladder.setting_for(wanted) for zone, wanted in zones.items()}
