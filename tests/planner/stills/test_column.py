"""The batch column against closed forms and against an independent integration of the same equations."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from cutpoint.planner.stills.column import Still, distil


class ConstantVolatility:
    """Liquids whose relative volatilities never change; the temperature carries nothing."""

    def __init__(self, alpha):
        self.alpha = np.asarray(alpha, dtype=float)

    def take(self, rows):
        return ConstantVolatility(self.alpha)

    def vapour(self, x, T_K):
        self.x = x
        y = self.alpha * x
        self.total = y.sum(axis=-1, keepdims=True)
        self.y = y / self.total
        return self.y, T_K

    def slopes(self):
        N = len(self.alpha)
        slopes = -self.y[..., :, None] * (self.alpha / self.total)[..., None, :]
        slopes[..., range(N), range(N)] += self.alpha / self.total
        return slopes


def batch(alpha, feed, plates, reflux, holdup=0.0, steps=100, **options):
    feed = np.atleast_2d(np.asarray(feed, dtype=float))
    still = Still(plates, np.full(len(feed), float(reflux)), np.full(len(feed), float(holdup)))
    return distil(feed, still, ConstantVolatility(alpha), np.full(len(feed), 300.0), steps=steps, **options)


def test_simple_distillation_of_two_components_follows_rayleigh():
    """ln(L0/L) of Lord Rayleigh's equation for constant relative volatility, its textbook closed form."""
    alpha, x0 = 2.5, 0.6
    run = batch([alpha, 1.0], [x0, 1.0 - x0], 0, 0.0)
    for left in run.left_mol[:, 0]:
        whole, x = left.sum(), left[0] / left.sum()
        if x < 1e-12:
            continue
        # L0/L = [(x0/x) ((1-x)/(1-x0))^alpha]^(1/(alpha-1))
        expected = ((x / x0) * ((1.0 - x0) / (1.0 - x)) ** alpha) ** (1.0 / (alpha - 1.0))
        assert whole == pytest.approx(expected, rel=1e-4)


def test_simple_distillation_of_many_components_keeps_their_ratios():
    """d ln n_i / d ln n_j = alpha_i / alpha_j at every moment."""
    alpha = np.array([5.0, 3.0, 1.5, 1.0, 0.4])
    run = batch(alpha, np.full(5, 0.2), 0, 0.0, steps=200)
    gone = np.log(run.left_mol[1:, 0] / 0.2)
    assert np.allclose(gone / alpha, (gone / alpha)[:, 3:4], rtol=1e-4)


@pytest.mark.parametrize("plates", [1, 5, 20])
def test_total_reflux_gives_the_plates_of_fenske(plates):
    """(x_D/(1-x_D)) / (x_B/(1-x_B)) = alpha^(N+1): M. R. Fenske, Ind. Eng. Chem. 24 (1932) 482-485."""
    alpha = 1.4
    run = batch([alpha, 1.0], [0.3, 0.7], plates, 1e12, steps=1)
    vapour, pot = run.vapour[0, 0], run.pot[0, 0]
    counted = np.log(vapour[0] / vapour[1] * pot[1] / pot[0]) / np.log(alpha)
    assert counted == pytest.approx(plates + 1, abs=1e-6)


def quasi_steady_ode(alpha, plates, reflux):
    """The same equations, solved independently: the profile by root finding on x_D, the still by a stiff method."""
    r = reflux / (reflux + 1.0)

    def distillate(x):
        """x_D over a pot of a binary: stage to stage from the head down must end in the pot."""

        def off(logit):
            y = 1.0 / (1.0 + np.exp(-logit))
            x_D = y
            for _ in range(plates + 1):
                x_stage = y / (alpha - (alpha - 1.0) * y)
                y = r * x_stage + (1.0 - r) * x_D
            return x_stage - x

        return 1.0 / (1.0 + np.exp(-brentq(off, -60.0, 60.0, xtol=1e-13)))

    return distillate


@pytest.mark.parametrize(("alpha", "plates", "reflux"), [(2.0, 3, 2.0), (1.6, 8, 5.0), (3.0, 10, 1.5)])
def test_it_agrees_with_an_independent_stiff_integration(alpha, plates, reflux):
    """scipy's LSODA on dn/dD = -x_D, with the profile found by root finding, to 1e-3 in composition."""
    x0, steps = 0.5, 100
    distillate = quasi_steady_ode(alpha, plates, reflux)
    run = batch([alpha, 1.0], [x0, 1.0 - x0], plates, reflux, steps=steps)
    distilled = run.distilled_mol.sum(axis=2)[:, 0]

    def gain(D, n):
        left = 1.0 - D
        return [-distillate(min(max(n[0] / left, 1e-9), 1.0 - 1e-9))]

    solved = solve_ivp(
        gain, (0.0, distilled[-1]), [x0], method="LSODA", t_eval=distilled.clip(0, distilled[-1]), rtol=1e-8, atol=1e-10
    )
    light = run.left_mol[:, 0, 0]
    assert np.allclose(light, solved.y[0], atol=1e-3)
    accumulated = run.distilled_mol[1:, 0, 0] / distilled[1:]
    assert np.allclose(accumulated, (x0 - solved.y[0][1:]) / distilled[1:], atol=1e-3)
    assert np.allclose(run.pot[:, 0, 0], solved.y[0] / (1.0 - distilled), atol=1e-3)


@pytest.mark.parametrize("holdup", [0.0, 0.004])
def test_mass_is_closed(holdup):
    feed = np.array([[0.3, 0.4, 0.3], [0.05, 0.05, 0.9], [1.0, 1e-9, 1e-3]])
    run = batch([4.0, 2.0, 1.0], feed, 6, 3.0, holdup)
    assert np.allclose(run.distilled_mol + run.left_mol, feed, rtol=1e-12)
    assert (run.left_mol >= 0.0).all()
    assert (np.diff(run.distilled_mol.sum(axis=2), axis=0) > 0.0).all()
    assert np.allclose(run.vapour.sum(axis=2), 1.0)


def test_what_the_column_holds_is_counted_and_blurs_the_change():
    feed = np.array([[0.5, 0.5]])
    sharp, blurred = (batch([4.0, 1.0], feed, 6, 4.0, holdup) for holdup in (0.0, 0.01))
    assert sharp.distilled_mol[-1].sum() == pytest.approx(0.97, abs=1e-3)
    assert blurred.distilled_mol[-1].sum() == pytest.approx(0.91, abs=1e-3)
    half = 50
    assert blurred.vapour[half, 0, 0] != pytest.approx(sharp.vapour[half, 0, 0], abs=1e-3)


def test_more_plates_and_more_reflux_part_better():
    feed = [0.5, 0.5]
    pure = {}
    for plates, reflux in ((0, 0.0), (3, 2.0), (10, 2.0), (10, 10.0)):
        run = batch([2.0, 1.0], feed, plates, reflux)
        at = np.searchsorted(run.distilled_mol.sum(axis=2)[:, 0], 0.3)
        pure[plates, reflux] = run.distilled_mol[at, 0, 0] / run.distilled_mol[at, 0].sum()
    assert pure[0, 0.0] < pure[3, 2.0] < pure[10, 2.0] < pure[10, 10.0]


def test_batches_do_not_touch_one_another():
    rng = np.random.default_rng(0)
    feed = rng.dirichlet(np.ones(4), 5)
    together = batch([5.0, 3.0, 2.0, 1.0], feed, 8, 4.0)
    for row in range(5):
        alone = batch([5.0, 3.0, 2.0, 1.0], feed[row], 8, 4.0)
        assert np.allclose(together.left_mol[:, row], alone.left_mol[:, 0], atol=1e-6)
