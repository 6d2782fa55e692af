"""Newton's method for many systems at once."""

from __future__ import annotations

import numpy as np
import pytest

from cutpoint.db.newton import Array, newton


def circle_and_line(u: Array) -> Array:
    """x² + y² = 25 and x - y = 1, which meet at (4, 3) and (-3, -4)."""
    x, y = u[..., 0], u[..., 1]
    return np.stack([x**2 + y**2 - 25.0, x - y - 1.0], axis=-1)


def full_step(u: Array, step: Array, miss: Array, slopes: Array) -> Array:
    return u - step


def test_every_start_finds_its_own_zero() -> None:
    starts = np.array([[5.0, 1.0], [-1.0, -5.0], [4.0, 3.0]])
    u, worst = newton(circle_and_line, starts, np.full(2, 1e-6), full_step, 1e-11, 40)
    assert u == pytest.approx(np.array([[4.0, 3.0], [-3.0, -4.0], [4.0, 3.0]]), abs=1e-9)
    assert worst.max() <= 1e-11


def test_what_is_settled_is_left_and_what_fails_is_told() -> None:
    """The slopes vanish at the second start, and too few rounds are left to come back from there."""
    starts = np.array([[4.0, 3.0], [0.0, 0.0]])
    u, worst = newton(circle_and_line, starts, np.full(2, 1e-6), full_step, 1e-11, 2)
    assert tuple(u[0]) == (4.0, 3.0)
    assert worst[0] == 0.0 and worst[1] > 1.0
