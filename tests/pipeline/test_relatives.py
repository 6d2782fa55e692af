"""Who may have been mixed up with whom: real identities, relations that a chemist sees at once."""

from __future__ import annotations

import pandas as pd

from cutpoint.pipeline.relatives import FORM, ISOMER, STEREOISOMER, relatives
from cutpoint.pipeline.structure import silence

IDENTITIES = [
    ("107-01-7", "2-butene", "C4H8", "CC=CC", "IAQRGUVFOMOMEM-UHFFFAOYSA-N"),
    ("590-18-1", "cis-2-butene", "C4H8", "C/C=C\\C", "IAQRGUVFOMOMEM-ARJAWSKDSA-N"),
    ("591-76-4", "2-methylhexane", "C7H16", "CCCCC(C)C", "GXDHCNNESPLIKD-UHFFFAOYSA-N"),
    ("589-34-4", "3-methylhexane", "C7H16", "CCCC(C)CC", "VLJXXKKOSFGPHI-UHFFFAOYSA-N"),
    ("144-62-7", "oxalic acid", "C2H2O4", "O=C(O)C(=O)O", "MUBZPKHOEPUJKR-UHFFFAOYSA-N"),
    ("6153-56-6", "oxalic acid dihydrate", "C2H6O6", "O.O.O=C(O)C(=O)O", "GEVPUGOOGXGPIO-UHFFFAOYSA-N"),
    ("62-76-0", "sodium oxalate", "C2Na2O4", "O=C([O-])C(=O)[O-].[Na+].[Na+]", "ZNCPFRVNHGOPAG-UHFFFAOYSA-L"),
    ("25038-59-9", "25038-59-9", None, None, None),
    ("9002-88-4", "9002-88-4", None, None, None),
]


def test_relations() -> None:
    silence()
    components = pd.DataFrame(IDENTITIES, columns=["cas", "name", "formula", "smiles", "inchikey"]).assign(kind="pure")
    found = relatives(components, components["cas"])
    told = {(row.cas, row.relative): row.relation for row in found.itertuples()}
    assert told["107-01-7", "590-18-1"] == told["590-18-1", "107-01-7"] == STEREOISOMER
    assert told["591-76-4", "589-34-4"] == ISOMER
    assert told["144-62-7", "6153-56-6"] == told["62-76-0", "144-62-7"] == told["6153-56-6", "62-76-0"] == FORM
    assert not any({"25038-59-9", "9002-88-4"} & set(pair) for pair in told)
    assert not found.duplicated(["cas", "relative"]).any()
    assert relatives(components, components["cas"].iloc[:1]).empty
