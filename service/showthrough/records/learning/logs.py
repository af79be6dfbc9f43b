"""What a painter's own measurements teach: wet film, transfer, minutes, drying.

Each is a factor on what was taken before, log-normal about 1; measurements scatter log-normally
about the painter's own factor. Normal priors and normal scatter of logarithms have closed
posteriors (the conjugate case of any textbook on Bayesian statistics).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from showthrough.film.coats import STATED_FILM_GEOMETRIC_SD

LOG_SIGMA = math.log(STATED_FILM_GEOMETRIC_SD)
"""Standard deviation of the logarithm of a wet film that a painter reads or works out."""


class Rate(NamedTuple):
    """A painter's own factor on something, and how sure it is."""

    jobs: int
    log_factor: float
    sigma: float
    """Standard deviation of its logarithm."""


def rate_of(log_factors: Sequence[float], prior_sigma: float, job_sigma: float) -> Rate | None:
    """A factor after some measurements; None without any.

    Args:
        log_factors: logarithms of measured over expected, one for each job.
        prior_sigma: how far painters lie apart, standard deviation of the logarithm.
        job_sigma: how far the jobs of one painter lie apart, > 0.
    """
    if not log_factors:
        return None
    n, prior = len(log_factors), prior_sigma**2
    gain = prior / (prior + job_sigma**2 / n)
    return Rate(n, gain * math.fsum(log_factors) / n, math.sqrt(prior * (1.0 - gain)))


class Laid(NamedTuple):
    """What logs say of film and transfer together, as deviations of logarithms from before."""

    used: int
    """Measurements of paint used: the film alone says nothing of transfer."""
    film: float
    """Of the wet film of a coat."""
    transfer: float
    """Of the part of the paint used that stays on the piece."""
    film_var: float
    transfer_var: float
    covariance: float

    def transfer_given(self, film: float, film_var: float) -> Rate:
        """Transfer, where something else has moved the film since."""
        slope = self.covariance / self.film_var if self.film_var > 0.0 else 0.0
        mean = self.transfer + slope * (film - self.film)
        rest = self.transfer_var - slope * self.covariance
        return Rate(self.used, mean, math.sqrt(max(rest + slope**2 * film_var, 0.0)))


def laid_of(
    gauged: Sequence[float],
    used: Sequence[float],
    film_sigma: float,
    transfer_sigma: float,
) -> Laid | None:
    """Film and transfer after some measurements; None without any.

    Args:
        gauged: logarithms of a wet film that was read, or worked out with a transfer that was
            stated, over the one expected.
        used: logarithms of paint used for each coat over what was expected; paint used tells of
            the film over the transfer alone.
        film_sigma: of ln wet film before any measurement, > 0.
        transfer_sigma: of ln transfer before.
    """
    # The mean of each kind says all that its measurements do.
    told = [(row, logs) for row, logs in (((1.0, 0.0), gauged), ((1.0, -1.0), used)) if logs]
    if not told:
        return None
    prior = np.diag([film_sigma**2, transfer_sigma**2])
    seen = np.array([row for row, _ in told])
    noise = np.diag([LOG_SIGMA**2 / len(logs) for _, logs in told])
    # By measurements rather than by inverse variances: a transfer may be known.
    gain = prior @ seen.T @ np.linalg.inv(seen @ prior @ seen.T + noise)
    film, transfer = gain @ np.array([math.fsum(logs) / len(logs) for _, logs in told])
    left = prior - gain @ seen @ prior
    return Laid(
        len(used),
        float(film),
        float(transfer),
        float(left[0, 0]),
        float(left[1, 1]),
        float(left[0, 1]),
    )
