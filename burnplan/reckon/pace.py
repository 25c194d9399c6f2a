"""Pace: how an artist's hours relate to the standard hours of a work plan.

log(actual / standard) of each stage is a level shared by all stages, plus one
of the stage's own, plus scatter from job to job. With no history all three
are the prior: wide, because no published figure for these hours was found.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from burnplan.reckon.work import Work, WorkPlan, standard_hours

QUANTILES = {"p10": 0.1, "p50": 0.5, "p80": 0.8, "p90": 0.9}
DRAWS = 4000

# Standard deviations of log hours before anything is known (common practice, no
# source): artists differ by about a half either way, and in what they are slow at.
LEVEL_SD = 0.40
STAGE_SD = 0.20
SCATTER_SD = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class HoursForecast:
    """Hours as a distribution.

    Parameters
    ----------
    draws : dict of ndarray, each shape (n,)
        Hours of each stage, drawn together: position i of every stage is one
        possible job.
    """

    draws: Mapping[Work, npt.NDArray[np.float64]]

    @property
    def total(self) -> npt.NDArray[np.float64]:
        """Draws of the hours of the whole job, shape (n,)."""
        return np.asarray(np.sum([*self.draws.values()], axis=0), np.float64)

    def quantile(self, share: float) -> float:
        """Return the hours of the whole job that are enough in a share of cases."""
        return float(np.quantile(self.total, share))

    def chance_within(self, hours: float) -> float:
        """Return the chance that the whole job takes no more than some hours."""
        return float(np.mean(self.total <= hours))

    def to_dict(self) -> dict[str, dict[str, float]]:
        """Return P10, P50, P80 and P90 of each stage and of the total."""
        named = {**{stage.value: drawn for stage, drawn in self.draws.items()}, "total": self.total}
        shares = list(QUANTILES.values())
        return {
            name: dict(zip(QUANTILES, map(float, np.quantile(drawn, shares)), strict=True))
            for name, drawn in named.items()
        }


def forecast(plan: WorkPlan, seed: int = 0) -> HoursForecast:
    """Return the hours of a job before any of this artist's own are known.

    Parameters
    ----------
    plan : WorkPlan
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    HoursForecast
    """
    random = np.random.default_rng(seed)
    level = random.normal(0, LEVEL_SD, DRAWS)
    own_sd = np.hypot(STAGE_SD, SCATTER_SD)
    return HoursForecast(
        {
            stage: hours * np.exp(level + random.normal(0, own_sd, DRAWS))
            for stage, hours in standard_hours(plan).items()
        }
    )
