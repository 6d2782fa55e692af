"""Flash points and autoignition temperatures (K) and flammability limits of about 230 substances.

NFPA 497, 2008, table 4.4.2; limits as mole fractions of vapour in air. Names carry
remarks such as "(Gas)" and are not read.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="nfpa_497",
    title="Recommended Practice for the Classification of Flammable Liquids, Gases, or Vapors",
    citation="National Fire Protection Association, NFPA 497, 2008 edition, table 4.4.2",
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Safety/NFPA 497 2008.tsv",
    sha256="569fca369523c036bf7f5b86ff31e510897786fa84e068a4c92add9995c5a472",
    values=(
        Value("T_flash", "flash_point"),
        Value("T_autoignition", "autoignition_temperature"),
        Value("LFL", "lower_flammability_limit"),
        Value("UFL", "upper_flammability_limit"),
    ),
)
