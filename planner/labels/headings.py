"""Lines of a label that name no ingredient: titles, heads of columns, sums; in English, German, French, Spanish."""

from __future__ import annotations

import re

_WORD = re.compile(r"[^\W\d_]+")
_SECTION = re.compile(
    r"^\W*(?:(?:section|abschnitt|rubrique|sección|kapitel)\s*[0-9]{1,2}|[0-9]{1,2}\.[0-9]{0,2}\.?)\s*:?(?=\s|$)",
    re.IGNORECASE,
)
_TOTAL = re.compile(r"^\W*(?:total|sum|summe|gesamt|suma|somme)\W*100(?:[.,]0+)?\s*%?\W*$", re.IGNORECASE)
_MARKS_ONLY = frozenset({"w", "v", "m", "p", "vol", "wt", "gew", "to", "and", "of", "on", "in", "by", "the"})
_WORDS = """
    ingredients ingredient composition contents content contains containing component components constituent
    constituents substance substances chemical name names common synonym synonyms cas casrn no nr rn number
    numbers ec einecs index reach registration concentration conc weight mass volume range percent percentage
    amount share proportion classification hazard hazards hazardous information clp ghs label product mixture
    mixtures active remark remarks max min h statements statement code codes inhaltsstoffe inhaltsstoff inhalt
    zusammensetzung bestandteile bestandteil enthält stoff stoffe stoffname bezeichnung chemische chemischer
    anteil anteile gehalt konzentration massenanteil volumenanteil gefährliche einstufung gefahr angaben zu den
    und der die eg nummer gemisch gemische gemischs rezeptur stoffbezeichnung ingrédients ingrédient composants
    composant contient nom teneur désignation chimique numéro ce mélange mélanges informations sur les des et du
    de la le dangereux classement fraction massique volumique ingredientes ingrediente composición componentes
    componente contiene nombre contenido concentración químico sustancia sustancias peligrosas mezcla mezclas
    información los las sobre clasificación número section abschnitt rubrique sección kapitel
"""
_HEADING_WORDS = _MARKS_ONLY.union(_WORDS.split())
_HEADING_BEFORE = re.compile(
    r"^\W*(?:hazardous\s+)?(?:(?:ingredients?|composition|contents?|inhaltsstoffe|zusammensetzung|bestandteile|ingrédients"
    r"|composants|ingredientes|composición)\s*:|(?:contains?|enthält|contient|contiene)(?!\w)\s*:?)\s*(?=\S)",
    re.IGNORECASE,
)


def is_heading(line: str) -> bool:
    """Whether a line only says what stands in the columns or under it: "Ingredients:", "CAS No.  % w/w"."""
    if _TOTAL.match(line):
        return True
    bare = _SECTION.sub("", line)
    words = [word.casefold() for word in _WORD.findall(bare)]
    has_digits = re.search(r"[0-9]", bare) is not None
    if not words:
        return not has_digits and "%" not in line
    return not has_digits and all(word in _HEADING_WORDS for word in words) and not _MARKS_ONLY.issuperset(words)


def without_heading(line: str) -> str:
    """The line without "Ingredients:" or "Contains" before its first ingredient."""
    return _HEADING_BEFORE.sub("", line, count=1)
