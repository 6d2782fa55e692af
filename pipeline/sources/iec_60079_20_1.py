"""Flash points and autoignition temperatures (K) and flammability limits of about 330 substances.

IEC 60079-20-1:2010, in its Indian adoption; limits as mole fractions of vapour in air.
The column of names holds lists with formulas and is not read.

Departures: the lower limit of 1-octanol has a minus sign in the file, which is dropped.
"""

from __future__ import annotations

from ..source import Repair, Source, Value

SOURCE = Source(
    name="iec_60079_20_1",
    title=("Explosive atmospheres - Part 20-1: Material characteristics for gas and vapour classification"),
    citation=(
        "International Electrotechnical Commission, IEC 60079-20-1:2010, annex B; adopted by the Bureau "
        "of Indian Standards as IS/IEC 60079-20-1:2010"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Safety/IS IEC 60079-20-1 2010.tsv",
    sha256="397a6609ffad46bcbc4a6473290a8ada7a047ee8046ce087eda33a76670306d7",
    values=(
        Value("T_flash", "flash_point"),
        Value("T_autoignition", "autoignition_temperature"),
        Value("LFL", "lower_flammability_limit"),
        Value("UFL", "upper_flammability_limit"),
    ),
    repairs=(Repair(196, "LFL", "-0.009", "0.009", "sign: a mole fraction is not negative"),),
)
