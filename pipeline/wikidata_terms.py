"""Properties and qualifiers of Wikidata by their meaning.

The identifiers are those of the property pages, https://www.wikidata.org/wiki/Property:P2102
and so on.
"""

from __future__ import annotations

CAS = "P231"
INCHI = "P234"
INCHIKEY = "P235"
SMILES = "P233"
ISOMERIC_SMILES = "P2017"
FORMULA = "P274"

PROPERTIES = {
    "P2102": "normal_boiling_point",
    "P2101": "melting_point",
    "P2054": "liquid_density",
    "P2119": "vapour_pressure",
    "P2128": "flash_point",
    "P2199": "autoignition_temperature",
    "P2202": "lower_flammability_limit",
    "P2203": "upper_flammability_limit",
}
"""Our name of each quantity that is read."""

PRESSURE = "P2077"
TEMPERATURE = "P2076"
PHASE = "P515"
