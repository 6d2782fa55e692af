"""CAS numbers, InChIKeys and molecular formulas: syntax, check digits, Hill order.

Sources: CAS Registry Number check digit, Chemical Abstracts Service,
"Check Digit Verification of CAS Registry Numbers"; InChIKey layout, Heller et
al., J. Cheminform. 7 (2015) 23, doi:10.1186/s13321-015-0068-4; formula order,
E. A. Hill, J. Am. Chem. Soc. 22 (1900) 478-494, doi:10.1021/ja02046a005.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

CAS_PATTERN = r"^[1-9][0-9]{1,9}-[0-9]{2}-[0-9]$"
INCHIKEY_PATTERN = r"^[A-Z]{14}-[A-Z]{8}[SNB][A-Z]-[A-Z]$"
FORMULA_PATTERN = r"^([A-Z][a-z]?[0-9]*)+([+-][0-9]*)?$"

_CAS = re.compile(CAS_PATTERN)
_INCHIKEY = re.compile(INCHIKEY_PATTERN)
_FORMULA = re.compile(FORMULA_PATTERN)
_ATOM_COUNT = re.compile(r"([A-Z][a-z]?)([0-9]*)")


def looks_like_cas(text: str) -> bool:
    """Whether the text is laid out like a CAS number; the check digit is not looked at."""
    return _CAS.fullmatch(text) is not None


def cas_check_digit(body: str) -> int:
    """Check digit of a CAS number from the digits before it (hyphens are ignored).

    >>> cas_check_digit("141-78")
    6
    """
    digits = body.replace("-", "")
    return sum(place * int(digit) for place, digit in enumerate(reversed(digits), 1)) % 10


def is_cas(text: str) -> bool:
    """Whether the text is a CAS number with the right check digit."""
    return looks_like_cas(text) and cas_check_digit(text[:-2]) == int(text[-1])


def cas_from_digits(digits: str) -> str:
    """Put the hyphens into a CAS number written as bare digits.

    >>> cas_from_digits("141786")
    '141-78-6'
    """
    return f"{digits[:-3]}-{digits[-3:-1]}-{digits[-1]}"


def cas_sort_key(cas: str) -> int:
    """Number by which CAS numbers sort in the order of their registration."""
    return int(cas.replace("-", ""))


def is_inchikey(text: str) -> bool:
    """Whether the text has the layout of an InChIKey."""
    return _INCHIKEY.fullmatch(text) is not None


def is_formula(text: str) -> bool:
    """Whether the text has the layout of a molecular formula, with or without a charge."""
    return _FORMULA.fullmatch(text) is not None


def split_formula(formula: str) -> tuple[dict[str, int], int]:
    """Atom counts and charge of a formula such as `C2H3O2-` or `Ca+2`.

    Raises ValueError if the text is not a formula.
    """
    if not is_formula(formula):
        raise ValueError(f"{formula!r} is not a molecular formula")
    atoms, sign, magnitude = re.split(r"([+-])", formula + "+0" if not re.search(r"[+-]", formula) else formula)
    counts: dict[str, int] = {}
    for symbol, count in _ATOM_COUNT.findall(atoms):
        counts[symbol] = counts.get(symbol, 0) + int(count or 1)
    charge = int(sign + (magnitude or "1"))
    return counts, charge


def hill_formula(counts: Mapping[str, int], charge: int = 0) -> str:
    """Formula in Hill order: carbon, hydrogen, then the rest by symbol; all by symbol without carbon.

    >>> hill_formula({"O": 2, "H": 8, "C": 4})
    'C4H8O2'
    """
    symbols = sorted(symbol for symbol, count in counts.items() if count)
    if "C" in symbols:
        lead = ["C", "H"] if "H" in symbols else ["C"]
        symbols = lead + [symbol for symbol in symbols if symbol not in lead]
    body = "".join(symbol + (str(counts[symbol]) if counts[symbol] > 1 else "") for symbol in symbols)
    if not charge:
        return body
    return f"{body}{'+' if charge > 0 else '-'}{abs(charge) if abs(charge) > 1 else ''}"
