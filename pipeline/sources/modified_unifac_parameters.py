"""Interaction parameters of modified UNIFAC (Dortmund): ln Ψ = -(a + b T + c T²)/T for ordered pairs of main groups.

No header: main groups i and j by number, then a (K), b and c (1/K). Each
direction is a row of its own, so the 758 published pairs make 1,516 rows.

Departures: rows of main groups whose sizes stand in no paper named here, and
of the ions of molten salts, are refused in the station `mixtures`.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from ..source import Source


def _rows(path: Path) -> pd.DataFrame:
    names = ["main_number_a", "main_number_b", "a_K", "b", "c_per_K"]
    return pd.read_csv(path, sep="\t", header=None, names=names, dtype="str", na_filter=False, encoding="utf-8")


SOURCE = Source(
    name="modified_unifac_parameters",
    title="Interaction parameters of modified UNIFAC (Dortmund)",
    citation=(
        "U. Weidlich, J. Gmehling, Ind. Eng. Chem. Res. 26 (1987) 1372; J. Gmehling, J. Li, M. Schiller, Ind. Eng. "
        "Chem. Res. 32 (1993) 178; J. Gmehling, J. Lohmann, A. Jakob, J. Li, R. Joh, Ind. Eng. Chem. Res. 37 (1998) "
        "4876; J. Gmehling, R. Wittig, J. Lohmann, R. Joh, Ind. Eng. Chem. Res. 41 (2002) 1678; A. Jakob, "
        "H. Grensemann, J. Lohmann, J. Gmehling, Ind. Eng. Chem. Res. 45 (2006) 7924; D. Constantinescu, "
        "J. Gmehling, J. Chem. Eng. Data 61 (2016) 2738"
    ),
    licence="MIT, as part of the package thermo 0.6.1",
    distribution="thermo",
    file="thermo/Phase Change/UNIFAC modified Dortmund interaction parameters.tsv",
    sha256="0826be336f4c7130744172f93bcebd9952a082c144d6de94c57f00b886df1c77",
    basis="correlated",
    layout="own",
    rows=_rows,
)
