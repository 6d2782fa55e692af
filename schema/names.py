"""The one rule by which a chemical name becomes the key it is looked up by.

Two spellings of a name have the same key when they differ only in case,
hyphens, spaces, brackets, Greek letters against their names, ligatures and
accents, half and full width, hiragana against katakana, the two spellings of
sulf-/sulph-, or index order ("benzene, methyl-" against "methylbenzene").
Numbers, primes, and the signs of optical rotation stay, because they tell
substances apart; whatever parts two numbers, be it a comma, a point, a hyphen,
brackets or a space, is one comma in the key, so that 12 never stands for 1 and
2. A mark that makes another letter is no accent: the Cyrillic й and the voiced
kana keep theirs, and the long-vowel mark of kana is a letter.
"""

from __future__ import annotations

import re
import unicodedata

ENGLISH = "en"
ANY_LANGUAGE = "mul"
"""Language code of a name that is the same text in every language (ISO 639-2: multiple languages)."""

LANGUAGES = {
    "en": "English", "de": "German", "fr": "French", "es": "Spanish", "pt": "Portuguese", "it": "Italian",
    "pl": "Polish", "nl": "Dutch", "ja": "Japanese", "ru": "Russian", ANY_LANGUAGE: "all languages",
}  # fmt: skip
"""Languages of names by their code in ISO 639, as people are told them."""

_GREEK = {
    "α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta", "ε": "epsilon", "ζ": "zeta",
    "η": "eta", "θ": "theta", "ι": "iota", "κ": "kappa", "λ": "lambda", "μ": "mu",
    "ν": "nu", "ξ": "xi", "ο": "omicron", "π": "pi", "ρ": "rho", "σ": "sigma", "ς": "sigma",
    "τ": "tau", "υ": "upsilon", "φ": "phi", "χ": "chi", "ψ": "psi", "ω": "omega",
}  # fmt: skip
_KATAKANA = {hiragana: hiragana + 0x60 for hiragana in (*range(0x3041, 0x3097), 0x309D, 0x309E)}
"""Hiragana against katakana, which Unicode lists in the same order; with their marks of iteration."""
_FOLDS = str.maketrans(
    {**_GREEK, "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ı": "i",
     "′": "'", "’": "'", "‘": "'", "´": "'", "″": "''", "±": "+-",
     "−": "-", "–": "-", "‐": "-", "‑": "-"}
    | _KATAKANA
)  # fmt: skip
_KEPT_WHOLE = frozenset("йガギグゲゴザジズゼゾダヂヅデドバビブベボパピプペポヴヷヸヹヺヾ")
"""Letters with a mark that is no accent, in lower case."""
_SPELLED_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
_INDEX_EDITION = re.compile(r"\s*\((?:8|9)ci\)")
_ROTATION = re.compile(r"\((?:\+-|\+/-|\.\+/-\.|\.\+-\.|\+|-)\)")
_ROTATION_SIGNS = dict.fromkeys(("(+/-)", "(.+/-.)", "(.+-.)"), "(+-)")
_SPACED_LOCANTS = re.compile(r"(?<=[\d']),\s+(?=\d)")
_BETWEEN_NUMBERS = re.compile(r"(?<=\d)(?:[^\w'+]|_)+(?=\d)")
_DROPPED = re.compile(r"[^\w'+]|_")
_ASCII_DROPPED = dict.fromkeys(code for code in range(128) if not (chr(code).isalnum() or chr(code) in "'+"))


def _fold(text: str) -> str:
    """Lower case, without accents, ligatures, Greek letters, hiragana or letters of another width."""
    if text.isascii():
        return text.lower()
    # A fold may yield characters that fold again (a Greek capital, a ligature
    # with an accent), so it runs until nothing changes.
    while True:
        composed = unicodedata.normalize("NFKC", text.casefold().translate(_FOLDS))
        unaccented = "".join(map(_without_accents, composed))
        if unaccented == text:
            return text
        text = unaccented


def _without_accents(character: str) -> str:
    if character.isascii() or character in _KEPT_WHOLE:
        return character
    return "".join(part for part in unicodedata.normalize("NFKD", character) if not unicodedata.combining(part))


def _invert_index_name(name: str) -> str:
    """Turn "ethane, 1,2-dichloro-" into "1,2-dichloro-ethane"."""
    parent, comma, substituents = name.partition(", ")
    if comma and substituents.endswith("-"):
        return substituents + parent
    return name


def search_key(name: str) -> str:
    """Key of a name; applying the rule to a key gives the key again.

    >>> search_key("Benzene, methyl-") == search_key("methyl benzene")
    True
    >>> search_key("α-Pinene"), search_key("1,2-Dichloro-ethane")
    ('alphapinene', '1,2dichloroethane')
    >>> search_key("bicyclo[1.2.3]"), search_key("bicyclo[12.3]")
    ('bicyclo1,2,3', 'bicyclo12,3')
    """
    folded = _fold(name)
    # Most names lack what the slower steps look for, and a store has nearly a million of them.
    if "ci)" in folded:
        folded = _INDEX_EDITION.sub(" ", folded)
    folded = folded.strip()
    if "," in folded:
        folded = _invert_index_name(_SPACED_LOCANTS.sub(",", folded))
    if "(" not in folded:
        return _letters(folded)
    pieces: list[str] = []
    start = 0
    for sign in _ROTATION.finditer(folded):
        pieces += [_letters(folded[start : sign.start()]), _ROTATION_SIGNS.get(sign.group(), sign.group())]
        start = sign.end()
    return "".join([*pieces, _letters(folded[start:])])


def search_keys(name: str) -> tuple[str, ...]:
    """The key of a name, and the one that it has where ä, ö and ü are spelled ae, oe and ue, as in German.

    A German name is held under both, and a text with such a letter is looked
    up by both. Spelled-out letters are not folded
    back: the "oe" of "benzoesäure" is none.

    >>> search_keys("Benzoesäure"), search_keys("acetone")
    (('benzoesaure', 'benzoesaeure'), ('acetone',))
    """
    key = search_key(name)
    if name.isascii():
        return (key,)
    spelled_out = search_key(unicodedata.normalize("NFC", name.casefold()).translate(_SPELLED_OUT))
    return (key,) if spelled_out == key else (key, spelled_out)


def _letters(piece: str) -> str:
    parts = _BETWEEN_NUMBERS.split(piece)
    kept = [part.translate(_ASCII_DROPPED) if part.isascii() else _DROPPED.sub("", part) for part in parts]
    return ",".join(kept).replace("sulph", "sulf")
