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
        self._r, self._surfaces, self._parameters = r, surfaces, parameters
        self._q = surfaces.sum(axis=-1)
        self._r34 = r**0.75
        # Surface fractions of the groups in each pure component.
        self._theta_pure = surfaces / self._q[..., None]

    def __len__(self) -> int:
        return len(self._r)

    @cached_property
    def n_components(self) -> int:
        """Components of each mixture, N."""
        return int(self._r.shape[1])

    def take(self, places: NDArray[np.int64]) -> ActivityModel:
        """The model of the mixtures at some places."""
        part = object.__new__(ActivityModel)
        for name in ("_r", "_q", "_r34", "_surfaces", "_theta_pure"):
            setattr(part, name, getattr(self, name)[places])
        part._parameters = self._parameters[:, places]
        return part

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        """ln γ at S states of each mixture: mole fractions (P, S, N), temperatures (P, S), answer (P, S, N).

        Mole fractions are to sum to one. Limits at x = 0 are the infinite dilution.
        """
        return self.ln_gamma_isotherms(x[:, :, None, :], T_K)[:, :, 0, :]

    def ln_gamma_isotherms(self, x: Array, T_K: Array) -> Array:
        """ln γ at M compositions along each of K isotherms: x (P, K or 1, M, N), temperatures (P, K), (P, K, M, N)."""
        # A search may pass temperatures, and parameters run away at some, where numbers overflow on their way to NaN.
        with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
            return self._ln_gamma(x, self._psi(T_K))

    def ln_residual_pure(self, T_K: Array) -> Array:
        """Σ_k ν_ki ln Γ_k in each pure component of the first mixture, at temperatures (S,); answer (S, N)."""
        in_pure = self._ln_Gamma_per_Q(self._theta_pure[:, None], self._psi(T_K[None]))
        return np.asarray((in_pure * self._surfaces[:, None]).sum(-1)[0])

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
        return self._combinatorial(at.x[None, None])[0, 0] + per_Q @ self._surfaces[0].T - residual_pure

    def ln_gamma_slopes(self, at: GroupStates) -> Array:
        """∂ ln γ_i / ∂x_j of the first mixture at states, every mole fraction taken as free: (S, N, N)."""
        # With A = Ψ_km / S_m the slopes of ln Γ_k / Q_k in Θ are A Θ Aᵀ - A - Aᵀ.
        A = at.psi / at.S[:, None, :]
        slopes = np.matmul(A * at.theta[:, None, :], np.swapaxes(A, -1, -2)) - A - np.swapaxes(A, -1, -2)
        surfaces, q, r, r34 = self._surfaces[0], self._q[0], self._r[0], self._r34[0]
        xq, xr, xr34 = (at.x @ size for size in (q, r, r34))
        theta_slopes = (surfaces[None] - at.theta[:, None, :] * q[:, None]) / xq[:, None, None]
        residual = np.matmul(surfaces @ slopes, np.swapaxes(theta_slopes, -1, -2))
        V_F = r / q * (xq / xr)[:, None]
        of_sizes = q / xq[:, None] - r / xr[:, None]
        of_volumes = (r34 / xr34[:, None] - 1.0)[:, :, None] * (r34 / xr34[:, None])[:, None, :]
        return residual + of_volumes + (5.0 * q * (V_F - 1.0))[:, :, None] * of_sizes[:, None, :]

    def _ln_gamma(self, x: Array, psi: Array) -> Array:
        surfaces = self._surfaces[:, None]
        theta = np.matmul(x, surfaces) / np.matmul(x, self._q[:, None, :, None])
        in_mixture = self._ln_Gamma_per_Q(theta, psi)
        in_pure = self._ln_Gamma_per_Q(self._theta_pure[:, None], psi)
        # Σ_k ν_ki ln Γ_k of the mixture, less that of each pure component i.
        residual = np.matmul(in_mixture, np.swapaxes(surfaces, -1, -2)) - (in_pure * surfaces).sum(-1)[:, :, None, :]
        return self._combinatorial(x) + residual

    def _combinatorial(self, x: Array) -> Array:
        r, q, r34 = (size[:, None, None, :] for size in (self._r, self._q, self._r34))
        V34 = r34 / (x * r34).sum(-1, keepdims=True)
        V_F = r / q * ((x * q).sum(-1, keepdims=True) / (x * r).sum(-1, keepdims=True))
        return 1.0 - V34 + np.log(V34) - 5.0 * q * (1.0 - V_F + np.log(V_F))

    def _psi(self, T_K: Array) -> Array:
        """Ψ of shape (P, K, G, G)."""
        a, b, c = self._parameters[:, :, None]
        T = T_K[:, :, None, None]
        return np.exp(-(a / T + b + c * T))

    def _ln_Gamma_per_Q(self, theta: Array, psi: Array) -> Array:
        """ln Γ_k / Q_k, the same for all groups of a main group: Θ (P, K, M, G), Ψ (P, K, G, G); (P, K, M, G)."""
        S = np.matmul(theta, psi)
        return 1.0 - np.log(S) - np.matmul(theta / S, np.swapaxes(psi, -1, -2))
