"""Liking over amounts, and what to taste next, against closed forms, numerical integration and simulated panels."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.trying import ahead, gains

from stillroom.analysis.bench.liking_surface import HEIGHTS, OWN, Surface, Tasted
from stillroom.analysis.bench.next_versions import around, best_of, improvement, next_versions, not_told_apart

WIDTH = 8.0


def tasted(amounts: list[list[float]], liking: list[float], people: int, scatter: float, seed: int = 0) -> Tasted:
    """Everybody tastes every version once; people differ in their levels."""
    rng = np.random.default_rng(seed)
    versions = len(amounts)
    levels = rng.normal(6, 1, people)
    scores = levels[:, None] + np.array(liking) + rng.normal(0, scatter, (people, versions))
    return Tasted(
        amounts=np.array(amounts).reshape(versions, -1),
        version=list(range(versions)) * people,
        person=[one for one in range(people) for _ in range(versions)],
        score=scores.ravel(),
        width=WIDTH,
        own=np.full(versions, OWN),
    )


def nothing(amounts: int) -> Surface:
    return Surface(
        Tasted(amounts=np.zeros((0, amounts)), version=[], person=[], score=np.zeros(0), width=WIDTH, own=np.zeros(0))
    )


def test_of_nothing_tasted_nothing_is_known() -> None:
    mean, covariance = nothing(2).at(np.array([[0.0, 0.0], [3.0, -1.0]]))
    assert mean.tolist() == [0.0, 0.0]
    height = np.mean([(share * WIDTH) ** 2 for share in HEIGHTS])  # every shape weighs the same
    assert np.diag(covariance) == pytest.approx([height, height])


def test_people_s_levels_do_not_count_and_many_sure_scores_are_believed() -> None:
    surface = Surface(tasted([[0.0], [1.0], [2.0]], [0.0, 1.0, 0.5], people=200, scatter=0.3))
    mean, _ = surface.versions()
    assert mean[1] - mean[0] == pytest.approx(1.0, abs=0.1)
    assert mean[2] - mean[0] == pytest.approx(0.5, abs=0.1)
    assert not_told_apart(surface) == [1]


def test_posterior_of_one_shape_against_the_formula_by_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Generalised least squares with flat levels: contrasts within each person, Rasmussen & Williams 2006, eq. 2.41."""
    monkeypatch.setattr("stillroom.analysis.bench.liking_surface.REACHES", (2.0,))
    monkeypatch.setattr("stillroom.analysis.bench.liking_surface.HEIGHTS", (0.125,))
    data = tasted([[0.0], [1.0], [-1.0]], [0.0, 0.4, -0.3], people=5, scatter=1.0)
    surface = Surface(data)
    contrast = np.array([[-1.0, 1.0, 0.0], [-1.0, 0.0, 1.0]])  # each person's levels fall out
    x = np.array([0.0, 1.0, -1.0])
    known = np.exp(-((x[:, None] - x) ** 2) / 8) + (OWN * WIDTH) ** 2 * np.eye(3)
    rows = np.kron(np.ones((5, 1)), contrast)
    covariance = rows @ known @ rows.T + surface.scatter**2 * np.kron(np.eye(5), contrast @ contrast.T)
    differences = (data.score.reshape(5, 3) @ contrast.T).ravel()
    at = np.array([0.5, 0.0])
    cross = np.exp(-((at[:, None] - x) ** 2) / 8) @ rows.T
    wanted = cross @ np.linalg.solve(covariance, differences)
    mean, _ = surface.at(at[:, None])
    assert mean[0] - mean[1] == pytest.approx(wanted[0] - wanted[1], abs=1e-4)


def test_expected_improvement_against_drawing() -> None:
    surface = Surface(tasted([[0.0], [1.0]], [0.0, 0.3], people=6, scatter=1.0))
    places, best = np.array([[0.5], [2.0], [-1.0]]), np.array([1.0])
    mean, covariance = surface.at(np.vstack([places, best]))
    drawn = np.random.default_rng(1).multivariate_normal(mean, covariance, 200_000)
    wanted = np.maximum(drawn[:, :3] - drawn[:, 3:], 0).mean(axis=0)
    assert improvement(surface, places, best) == pytest.approx(wanted, rel=0.02)


def test_the_optimum_of_a_quadratic_is_found() -> None:
    """Liking -(x - 1.3)² / 2 - (y + 0.6)² / 2 has its optimum at (1.3, -0.6)."""
    grid = around(np.zeros(2), 2.0)[::2]
    liking = [float(-((x - 1.3) ** 2 + (y + 0.6) ** 2) / 2) for x, y in grid]
    surface = Surface(tasted(grid.tolist(), liking, people=30, scatter=0.2))
    fine = around(np.array([1.0, -0.5]), 1.0)
    mean, _ = surface.at(fine)
    assert fine[int(np.argmax(mean))] == pytest.approx([1.3, -0.6], abs=0.25)


def test_what_is_tasted_next_lies_within_the_step_and_apart() -> None:
    surface = nothing(2)
    chosen = around(np.zeros(2))[next_versions(surface, around(np.zeros(2)), np.zeros(2), 3, people=6)]
    assert np.abs(chosen).max() <= 1.0
    apart = [np.linalg.norm(chosen[i] - chosen[j]) for i in range(3) for j in range(i)]
    assert min(apart) >= 1.0


def test_versions_that_chance_alone_parts_are_tasted_again() -> None:
    surface = Surface(tasted([[0.0], [1.0]], [0.0, 0.05], people=6, scatter=1.2))
    assert sorted(not_told_apart(surface)) == [0, 1]
    assert not_told_apart(surface)[0] == best_of(surface)


@pytest.mark.parametrize("kind", [0, 1])
def test_more_is_gained_than_by_other_ways(kind: int) -> None:
    """The program of docs/simulations.md, in fewer runs."""
    found = gains(40, 2, kind)
    assert ahead(found["the bench"], found["random steps"])[0] > 0
    assert ahead(found["the bench"], found["one at a time"])[0] > 0
    assert found["in the band"].mean() > 0.9  # of 95 %; 40 runs scatter by a few
