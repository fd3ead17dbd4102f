"""Several comparisons at once: p-values and critical values that hold for all of them together.

SciPy has the studentized range and Dunnett's test, but the first takes milliseconds for every value and the second
takes independent groups only. A panel of a dozen samples needs some hundred values at once, from a block design; so
both are integrated here by Gauss-Legendre quadrature over whole arrays. The tests compare them with SciPy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import special

from stillroom.analysis.panel.version_fit import Floats
from stillroom.analysis.roots import root
from stillroom.analysis.tails import t_isf

_TAIL: Final = 1e-17
"""Probability left out at either end of the distribution of the standard deviation."""
_REACH: Final = 8.5
"""Standard deviations beyond which a normal density is nothing in double precision."""


@cache
def _legendre(count: int) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


def _sd_nodes(df: Floats) -> tuple[Floats, Floats]:
    """Nodes and weights for an expectation over s = sqrt(chi-square(df) / df); shape (len(df), nodes)."""
    unit, weights = _legendre(96 if df.min() < 10 else 32)
    low = np.sqrt(2 * special.gammaincinv(df / 2, _TAIL) / df)[:, None]
    high = np.sqrt(2 * special.gammainccinv(df / 2, _TAIL) / df)[:, None]
    s = low + (high - low) * (unit + 1) / 2
    half = df[:, None] / 2
    log_density = half * np.log(half) - special.gammaln(half) + np.log(2) + (2 * half - 1) * np.log(s) - half * s**2
    return s, np.exp(log_density) * weights * (high - low) / 2


def studentized_range_sf(q: npt.ArrayLike, count: int, df: npt.ArrayLike) -> Floats:
    """P(studentized range of `count` means > q) at `df` degrees of freedom (Tukey's p-value for q = sqrt(2) |t|).

    `q` and `df` are broadcast to one dimension. Source: the double integral of Copenhaver & Holland (1988),
    *J. Stat. Comput. Simul.* 30:1, which R's `ptukey` evaluates too. Absolute error below 1e-9 from df = 2 up.

    >>> studentized_range_sf(4.1987, 4, 12).round(4)  # q(.05; 4, 12), printed tables give 4.20
    array([0.05])
    """
    q_flat, df_flat = np.broadcast_arrays(np.atleast_1d(np.asarray(q, float)), np.atleast_1d(np.asarray(df, float)))
    s, s_weights = _sd_nodes(df_flat)
    unit, weights = _legendre(160)
    tail = np.empty(len(q_flat))
    for row, value in enumerate(q_flat):
        width = (value * s[row])[:, None]
        # z is the largest of the means; the others lie within `width` below it.
        z = unit * _REACH
        inside = special.ndtr(z) - special.ndtr(z - width)
        density = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi) * weights * _REACH
        tail[row] = 1 - s_weights[row] @ (count * inside ** (count - 1) @ density)
    return np.clip(tail, 0.0, 1.0)


@cache
def studentized_range_critical(count: int, df: float, alpha: float = 0.05) -> float:
    """The q that the studentized range of `count` means exceeds with probability `alpha`."""
    pairs = count * (count - 1) // 2
    return 2**0.5 * _critical(lambda t: float(studentized_range_sf(2**0.5 * t, count, df)[0]), pairs, df, alpha)


def many_to_one_sf(t: npt.ArrayLike, loadings: tuple[float, ...], df: npt.ArrayLike) -> Floats:
    """P(largest |t| of several comparisons with one control > t): Dunnett's two-sided p-value.

    The comparisons i, j correlate as loadings[i] * loadings[j]: sqrt(1/2) each in a complete block design,
    sqrt(n_i / (n_i + n_0)) for independent groups. Source: Dunnett (1955), *JASA* 50:1096.

    >>> many_to_one_sf([2.68], (0.5**0.5,) * 3, 12).round(2)  # printed table: 2.68 is the 5 % point
    array([0.05])
    """
    t_flat, df_flat = np.broadcast_arrays(np.atleast_1d(np.asarray(t, float)), np.atleast_1d(np.asarray(df, float)))
    s, s_weights = _sd_nodes(df_flat)
    unit, weights = _legendre(64)
    z = unit * _REACH
    density = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi) * weights * _REACH
    tail = np.empty(len(t_flat))
    for row, value in enumerate(t_flat):
        reach = (abs(value) * s[row])[:, None]
        inside = np.ones((s.shape[1], len(z)))
        for loading, times in Counter(loadings).items():
            own = np.sqrt(max(1 - loading**2, 1e-12))
            below, above = special.ndtr((loading * z - reach) / own), special.ndtr((loading * z + reach) / own)
            inside *= (above - below) ** times
        tail[row] = 1 - s_weights[row] @ (inside @ density)
    return np.clip(tail, 0.0, 1.0)


@cache
def many_to_one_critical(loadings: tuple[float, ...], df: float, alpha: float = 0.05) -> float:
    """The |t| that the largest of several comparisons with one control exceeds with probability `alpha`."""
    return _critical(lambda t: float(many_to_one_sf(t, loadings, df)[0]), len(loadings), df, alpha)


def product_loadings(correlation: Floats) -> tuple[float, ...]:
    """Loadings whose products come nearest to the off-diagonal of a correlation matrix (least squares).

    Exact for up to three comparisons with positive correlations and for every complete design; near enough in
    unbalanced ones, where the comparisons with one control all share its variance.
    """
    count = len(correlation)
    if count == 1:
        return (0.0,)
    loadings = np.full(count, np.sqrt(max(correlation[np.triu_indices(count, 1)].mean(), 0.0)))
    off = correlation - np.diag(np.diag(correlation))
    for _ in range(200):
        before = loadings.copy()
        for i in range(count):
            norm = float(loadings @ loadings) - loadings[i] ** 2
            loadings[i] = min(max(float(off[i] @ loadings) / norm, 0.0), 0.999) if norm > 0 else 0.0
        if np.abs(loadings - before).max() < 1e-8:
            break
    return tuple(float(round(x, 6)) for x in loadings)


def _critical(tail: Callable[[float], float], comparisons: int, df: float, alpha: float) -> float:
    """The |t| that the largest of several exceeds with probability `alpha`: beyond that of one, within Bonferroni's.

    It is sought on the scale of t, where a tail is next to a straight line: a few steps do.
    """
    alone, apart = (float(t_isf(alpha / 2 / count, df)) for count in (1, comparisons))
    if comparisons == 1:
        return apart
    try:
        return root(lambda t: float(t_isf(tail(t) / 2 / comparisons, df)) - apart, alone, apart)
    except ValueError:  # so small a risk at so few degrees of freedom that quadrature cannot tell
        return apart
