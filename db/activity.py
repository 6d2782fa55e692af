"""Activity coefficients by modified UNIFAC (Dortmund), for many mixtures, compositions and temperatures at once.

    ln γ_i   = ln γ_i^C + ln γ_i^R
    ln γ_i^C = 1 - V'_i + ln V'_i - 5 q_i (1 - V_i/F_i + ln V_i/F_i)
    V'_i     = r_i^¾ / Σ_j x_j r_j^¾,   V_i = r_i / Σ_j x_j r_j,   F_i = q_i / Σ_j x_j q_j
    ln γ_i^R = Σ_k ν_ki (ln Γ_k - ln Γ_k in the pure component i)
    ln Γ_k   = Q_k [1 - ln Σ_m Θ_m Ψ_mk - Σ_m Θ_m Ψ_km / Σ_n Θ_n Ψ_nm]
    Ψ_mn     = exp -(a_mn + b_mn T + c_mn T²) / T

with r_i and q_i the sums of the groups' volumes R_k and surfaces Q_k, and Θ_m
the surface fraction of group m. U. Weidlich, J. Gmehling, Ind. Eng. Chem. Res.
26 (1987) 1372-1381; J. Gmehling, J. Li, M. Schiller, Ind. Eng. Chem. Res. 32
(1993) 178-193. Sizes and interaction parameters come from the store.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from .store import Store

Array = NDArray[np.float64]

SCHEME = "modified UNIFAC (Dortmund)"

_SIZES = 'SELECT "group", main_group, R, Q FROM group_size WHERE scheme = $scheme ORDER BY "group"'
_PARAMETERS = "SELECT group_a, group_b, a_K, b, c_per_K FROM group_parameter WHERE scheme = $scheme"
_COUNTS = """
    SELECT cas, "group", count FROM functional_group
    WHERE scheme = $scheme AND list_contains(string_split($cas, ','), cas) ORDER BY cas, "group"
"""

Counts = Mapping[str, int]
"""How often each group occurs in a molecule."""


@dataclass(frozen=True)
class GroupBook:
    """The groups of the scheme and what is published of how they interact.

    `place` gives each group's place in the arrays `R`, `Q` and `main` of shape
    (groups,); `parameters` holds a, b and c in the shape (3, main groups, main
    groups), NaN where nothing is published. A main group does not interact with itself.
    """

    place: Mapping[str, int]
    R: Array
    Q: Array
    main: NDArray[np.int64]
    main_names: tuple[str, ...]
    parameters: Array

    @classmethod
    def load(cls, store: Store) -> GroupBook:
        """The book of a store; empty where it was built without the tables."""
        sizes = store.rows(_SIZES, scheme=SCHEME)
        names = tuple(sorted({row[1] for row in sizes}))
        main_place = {name: place for place, name in enumerate(names)}
        parameters = np.full((3, len(names), len(names)), np.nan)
        parameters[:, range(len(names)), range(len(names))] = 0.0
        for group_a, group_b, *abc in store.rows(_PARAMETERS, scheme=SCHEME):
            if group_a in main_place and group_b in main_place:
                parameters[:, main_place[group_a], main_place[group_b]] = abc
        return cls(
            {row[0]: place for place, row in enumerate(sizes)},
            np.array([row[2] for row in sizes], dtype=np.float64),
            np.array([row[3] for row in sizes], dtype=np.float64),
            np.array([main_place[row[1]] for row in sizes], dtype=np.int64),
            names,
            parameters,
        )

    def unknown_interactions(self, molecules: Sequence[Counts]) -> list[tuple[str, str]]:
        """Pairs of main groups that meet in a mixture of the molecules and have no published parameters."""
        met = sorted({int(self.main[self.place[group]]) for counts in molecules for group in counts})
        lacking = np.isnan(self.parameters[0][np.ix_(met, met)])
        lacking |= lacking.T
        return [
            (self.main_names[met[i]], self.main_names[met[j]])
            for i, j in zip(*np.nonzero(np.triu(lacking)), strict=True)
        ]

    def model(self, mixtures: Sequence[Sequence[Counts]]) -> ActivityModel:
        """The model of P mixtures of N molecules each; one without published parameters gives NaN throughout."""
        places = [[{self.place[group]: count for group, count in counts.items()} for counts in m] for m in mixtures]
        unions = [sorted({int(self.main[k]) for counts in molecules for k in counts}) for molecules in places]
        width = max((len(union) for union in unions), default=0)
        N = len(mixtures[0]) if mixtures else 0
        r, surfaces = np.zeros((len(mixtures), N)), np.zeros((len(mixtures), N, width))
        # A place beyond a mixture's own groups holds its first group again, with a surface of zero.
        chosen = np.array([(union + union[:1] * width)[:width] for union in unions], dtype=np.int64).reshape(-1, width)
        for p, (molecules, union) in enumerate(zip(places, unions, strict=True)):
            for i, counts in enumerate(molecules):
                for k, count in counts.items():
                    r[p, i] += count * self.R[k]
                    surfaces[p, i, union.index(self.main[k])] += count * self.Q[k]
        return ActivityModel(r, surfaces, self.parameters[:, chosen[:, :, None], chosen[:, None, :]])


def group_counts(store: Store, cas: Sequence[str]) -> dict[str, dict[str, int]]:
    """Group counts of the components that have them; the others are left out."""
    counts: dict[str, dict[str, int]] = {}
    for bearer, group, count in store.rows(_COUNTS, scheme=SCHEME, cas=",".join(cas)):
        counts.setdefault(bearer, {})[group] = int(count)
    return counts


class GroupStates(NamedTuple):
    """Mole fractions (S, N), surface fractions Θ of the groups and Σ_k Θ_k Ψ_km, (S, G), and Ψ, (S, G, G)."""

    x: Array
    theta: Array
    S: Array
    psi: Array


class ActivityModel:
    """ln γ of P mixtures of N components each, built by `GroupBook.model`.

    Groups of one main group interact alike, so all that a molecule needs to
    tell is its volume `r`, shape (P, N), and its surface in each of the main
    groups, `surfaces`, shape (P, N, G): Σ_k ν_ki Q_k over the groups k in it.
    `parameters` are a, b and c, shape (3, P, G, G).
    """

    def __init__(self, r: Array, surfaces: Array, parameters: Array) -> None:
        P, _, G = surfaces.shape
        # As factors of 1/T, 1 and T, for every Ψ of a temperature at once: -a, -b and -c of shape (P, 3, G·G).
        self._exponents = -np.moveaxis(parameters.reshape(3, P, G * G), 0, 1)
        self._r, self._surfaces = r, surfaces
        self._q = surfaces.sum(-1)
        self._r34 = r**0.75
        self._sizes = np.concatenate([np.stack([r, self._q, self._r34], axis=-1), surfaces], axis=-1)

    def __len__(self) -> int:
        return len(self._surfaces)

    @cached_property
    def n_components(self) -> int:
        """Components of each mixture, N."""
        return int(self._surfaces.shape[1])

    def take(self, places: NDArray[np.int64]) -> ActivityModel:
        """The model of the mixtures at some places."""
        part = object.__new__(ActivityModel)
        for name in ("_exponents", "_r", "_q", "_r34", "_surfaces", "_sizes"):
            setattr(part, name, getattr(self, name)[places])
        return part

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        """ln γ at S states of each mixture: mole fractions (P, S, N), temperatures (P, S), answer (P, S, N).

        Mole fractions are to sum to one. Limits at x = 0 are the infinite dilution.
        """
        return self.liquids(x).ln_gamma(T_K)

    def liquids(self, x: Array) -> Liquids:
        """S compositions of each mixture, (P, S, N), ready to be asked at one temperature after another."""
        return Liquids(self, x[:, :, None, :])

    def ln_gamma_isotherms(self, x: Array, T_K: Array) -> Array:
        """ln γ at M compositions along each of K isotherms: x (P, K or 1, M, N), temperatures (P, K), (P, K, M, N)."""
        return Liquids(self, x).ln_gamma_isotherms(T_K)

    def ln_residual_pure(self, T_K: Array) -> Array:
        """Σ_k ν_ki ln Γ_k in each pure component of the first mixture, at temperatures (S,); answer (S, N)."""
        theta = self._surfaces[0] / self._q[0][:, None]
        psi = self._psi(T_K[None])[0]
        S = np.matmul(theta, psi)
        per_Q = 1.0 - np.log(S) - np.matmul(theta / S, np.swapaxes(psi, -1, -2))
        return np.asarray((per_Q * self._surfaces[0]).sum(-1))

    def groups_at(self, x: Array, T_K: Array) -> GroupStates:
        """The groups of the first mixture at S states with a temperature each: x (S, N), T (S,)."""
        psi = self._psi(T_K[None])[0]
        theta = (x @ self._surfaces[0]) / (x @ self._q[0])[:, None]
        return GroupStates(x, theta, np.einsum("sk,skm->sm", theta, psi), psi)

    def ln_gamma_states(self, at: GroupStates, residual_pure: Array) -> Array:
        """ln γ of the first mixture at states, (S, N).

        `residual_pure`, (S, N), is what `ln_residual_pure` gives there; a caller
        that has it in a table saves the greater part of the work.
        """
        per_Q = 1.0 - np.log(at.S) - np.einsum("sm,skm->sk", at.theta / at.S, at.psi)
        return (
            combinatorial(at.x @ self._sizes[0, :, :3], self._r[0], self._q[0], self._r34[0])
            + per_Q @ self._surfaces[0].T
            - residual_pure
        )

    def ln_gamma_slopes(self, at: GroupStates) -> Array:
        """∂ ln γ_i / ∂x_j of the first mixture at states, every mole fraction taken as free: (S, N, N).

        With A = Ψ_km / S_m the slopes of ln Γ_k / Q_k in Θ are A Θ Aᵀ - A - Aᵀ, of which Θ itself gives -1; so with
        the surfaces s of the molecules, B = s A and Q = Σ x q those of ln γ^R are (B Θ Bᵀ - B sᵀ - s Bᵀ + q qᵀ) / Q.
        """
        surfaces, q, r, r34 = self._surfaces[0], self._q[0], self._r[0], self._r34[0]
        xq, xr, xr34 = (at.x @ size for size in (q, r, r34))
        B = np.matmul(surfaces, at.psi)
        B /= at.S[:, None, :]
        once = B @ surfaces.T
        slopes = np.matmul(B * at.theta[:, None, :], np.swapaxes(B, -1, -2))
        slopes -= once
        slopes -= np.swapaxes(once, -1, -2)
        slopes += np.multiply.outer(q, q)
        slopes /= xq[:, None, None]
        V_F = r / q * (xq / xr)[:, None]
        of_sizes = q / xq[:, None] - r / xr[:, None]
        V34 = r34 / xr34[:, None]
        slopes += (V34 - 1.0)[:, :, None] * V34[:, None, :]
        slopes += (5.0 * q * (V_F - 1.0))[:, :, None] * of_sizes[:, None, :]
        return slopes

    def _psi(self, T_K: Array) -> Array:
        """Ψ of shape (P, K, G, G)."""
        G = self._surfaces.shape[-1]
        T_powers = np.empty((*T_K.shape, 3))
        T_powers[..., 0], T_powers[..., 1], T_powers[..., 2] = 1.0 / T_K, 1.0, T_K
        exponents = np.matmul(T_powers, self._exponents)
        return np.exp(exponents, out=exponents).reshape(*T_K.shape, G, G)


def combinatorial(means: Array, r: Array, q: Array, r34: Array) -> Array:
    """ln γ^C of components of sizes r, q and r^¾ in mixtures whose Σ x r, Σ x q and Σ x r^¾ lead the last axis."""
    V34, V_F = r34 / means[..., 2:3], r / q * (means[..., 1:2] / means[..., 0:1])
    return 1.0 - V34 + np.log(V34) - 5.0 * q * (1.0 - V_F + np.log(V_F))


class Liquids:
    """Liquids of fixed composition, x (P, K or 1, M, N): what of ln γ is the same at all T is computed once."""

    def __init__(self, model: ActivityModel, x: Array) -> None:
        self._model, self._M = model, x.shape[2]
        with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
            r, q, r34 = (size[:, None, None, :] for size in (model._r, model._q, model._r34))
            # Of the mixtures: Σ x r, Σ x q, Σ x r^¾, and the surface of each group.
            means = np.matmul(x, model._sizes[:, None])
            self._combinatorial = combinatorial(means, r, q, r34)
            # Surface fractions of the groups in the mixtures and, after them, in each pure component.
            self._theta = np.empty((*x.shape[:2], self._M + x.shape[3], model._surfaces.shape[-1]))
            np.divide(means[..., 3:], means[..., 1:2], out=self._theta[:, :, : self._M])
            self._theta[:, :, self._M :] = (model._surfaces / model._q[..., None])[:, None]

    def take(self, places: NDArray[np.int64]) -> Liquids:
        """The liquids of the mixtures at some places."""
        part = copy(self)
        part._model = self._model.take(places)
        part._combinatorial, part._theta = self._combinatorial[places], self._theta[places]
        return part

    def ln_gamma(self, T_K: Array) -> Array:
        """ln γ of each liquid of `ActivityModel.liquids` at its own temperature: (P, S) gives (P, S, N)."""
        return self.ln_gamma_isotherms(T_K)[:, :, 0, :]

    def along(self, T_K: Array) -> Array:
        """ln γ of every liquid of `ActivityModel.liquids` along isotherms: temperatures (P, K) give (P, K, S, N)."""
        turned = copy(self)
        turned._M = self._theta.shape[1]
        turned._theta = np.concatenate([self._theta[:, :, 0], self._theta[:, 0, 1:]], axis=1)[:, None]
        turned._combinatorial = np.swapaxes(self._combinatorial, 1, 2)
        return turned.ln_gamma_isotherms(T_K)

    def ln_gamma_isotherms(self, T_K: Array) -> Array:
        """ln γ of all M liquids at temperatures (P, K): (P, K, M, N)."""
        # A search may pass temperatures, and parameters run away at some, where numbers overflow on their way to NaN.
        with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
            psi = self._model._psi(T_K)
            S = np.matmul(self._theta, psi)
            # Σ_k ν_ki ln Γ_k less the terms that mixture and pure component i have in common; ν_ki Q_k is a surface.
            terms = np.log(S)
            terms += np.matmul(self._theta / S, np.swapaxes(psi, -1, -2))
            sums = np.matmul(terms, np.swapaxes(self._model._surfaces[:, None], -1, -2))
            pure = sums[:, :, self._M :].diagonal(axis1=-2, axis2=-1)
            return self._combinatorial + pure[:, :, None, :] - sums[:, :, : self._M]
