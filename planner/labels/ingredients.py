"""What the lines of a label mean: a component of the store, a cut, or something that is not volatile."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Any

from cutpoint.db import Component
from cutpoint.planner.recipes.recipe import NOT_VOLATILE
from cutpoint.schema.errors import AmbiguousComponent, CutpointError, WrongRecipe
from cutpoint.schema.names import search_key, search_keys

from .unresolved import MOST_TOLD, Open, Undecided, all_unresolved, candidate

if TYPE_CHECKING:
    from .label_store import Cut, LabelStore
    from .reading import Label, LabelLine

_BEARERS = "SELECT DISTINCT cas FROM name WHERE search_key = $key"
_MIXED_ISOMERS = re.compile(
    r"(?:[(\[]|,\s*)?(?:mixture\s+of\s+isomers|mixed\s+isomers|isomeric?\s+mixture|isomers|isomerengemisch|gemisch"
    r"(?:\s+der)?(?:\s+isomeren?)|mélange\s+d'isomères|mezcla\s+de\s+isómeros)[)\]]?\s*$",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Ingredient:
    """A line of the label and what it means.

    `kind` is "component", "cut" or "not volatile"; `cas` and `name` are those
    of the store where it holds them, `cut` is None but for cuts. `note` says
    what a reader should know about how the line was understood.
    """

    line: LabelLine
    kind: str
    name: str
    cas: str | None
    cut: Cut | None
    note: str | None


def resolve(store: LabelStore, label: Label, meanings: Mapping[str, str]) -> tuple[Ingredient, ...]:
    """What each line of the label means, in its order.

    The user's `meanings` come first (printed name, CAS number or whole line to
    CAS number, name or `NOT_VOLATILE`; case and blanks do not matter), then the
    CAS number, then the name; a spelling is never guessed. Raises WrongRecipe
    for a meaning that fits no line or contradicts another, UnresolvedLabel
    with all lines that nothing decides.
    """
    decided = _decided(label.lines, meanings)
    found: list[Ingredient] = []
    unresolved: list[Open] = []
    for line in label.lines:
        try:
            found.append(_ingredient(store, line, decided.get(line)))
        except Undecided as error:
            unresolved.append(Open(line, error.reason, error.candidates))
    if unresolved:
        raise all_unresolved(unresolved)
    return tuple(_note_repeats(found))


def _decided(lines: Sequence[LabelLine], meanings: Mapping[str, str]) -> dict[LabelLine, str]:
    decided: dict[LabelLine, str] = {}
    for printed, meaning in meanings.items():
        key = _folded(printed)
        fitting = [
            line for line in lines if key in {_folded(line.name), _folded(line.cas or line.name), _folded(line.text)}
        ]
        if not fitting:
            listed = ", ".join(f'"{line.name}"' for line in lines)
            raise WrongRecipe(f'[meanings]: "{printed}" fits no line of the label, which names {listed}.')
        for line in fitting:
            if _folded(decided.setdefault(line, meaning)) != _folded(meaning):
                raise WrongRecipe(
                    f"[meanings]: line {line.number}, {line.text!r}, has two, {decided[line]!r} and {meaning!r}; "
                    "strike one of them."
                )
    return decided


def _folded(text: str) -> str:
    return re.sub(r"\s", "", text.casefold())


def _ingredient(store: LabelStore, line: LabelLine, meaning: str | None) -> Ingredient:
    if meaning is not None and _folded(meaning) == _folded(NOT_VOLATILE):
        return Ingredient(line, NOT_VOLATILE, line.name, line.cas, None, _notes(line, None))
    if meaning is not None:
        try:
            meant, note = _by_text(store, meaning)
        except Undecided as error:
            raise Undecided(f'its meaning "{meaning}" is not clear: {error.reason}', error.candidates) from None
    elif line.cas is not None:
        meant, note = _by_cas(store, line, line.cas)
    else:
        meant, note = _by_text(store, _with_mixed_isomers(line.name))
    cut = None if isinstance(meant, Component) else meant
    kind = "component" if cut is None else "cut"
    return Ingredient(line, kind, meant.name, meant.cas, cut, _notes(line, note))


def _by_cas(store: LabelStore, line: LabelLine, cas: str) -> tuple[Component | Cut, str | None]:
    """The component or cut of a CAS number, unless the name beside it is another's."""
    try:
        component = store.component(cas)
    except CutpointError as error:
        near = error.candidates or _near_by_name(store, line.name)
        raise Undecided(error.message, near) from None
    bearers = _bearers(store, line.name) if line.name != cas else set()
    if bearers and cas not in bearers and component.kind != "stream":
        others = [store.component(bearer) for bearer in sorted(bearers)]
        listed = " or ".join(f"{other.name} ({other.cas})" for other in others[:MOST_TOLD])
        raise Undecided(
            f"name and CAS number contradict each other: {line.name!r} is {listed}, and {cas} is {component.name}.",
            [candidate(component), *map(candidate, others)],
        )
    if component.kind != "stream":
        return _volatile(component), component.note
    vague = cas not in bearers if bearers else False
    note = f"Read by its CAS number, which is {component.name}; the name is also used of others." if vague else None
    return _cut(store, component, line.name), note


def _by_text(store: LabelStore, text: str) -> tuple[Component | Cut, str | None]:
    """The component or cut that a text means, and what the store notes about it."""
    try:
        cut = store.cut(text)
        if cut is not None:
            return cut, None
        component = store.component(text)
    except CutpointError as error:
        raise Undecided(error.message, error.candidates) from None
    if component.kind == "stream":
        return _cut(store, component, text), component.note
    return _volatile(component), component.note


def _cut(store: LabelStore, component: Component, name: str) -> Cut:
    """The cut of a stream: that of its CAS number, or the grade that the name tells."""
    try:
        cut = store.cut(component.cas)
    except AmbiguousComponent as error:
        key = search_key(name)
        named = [grade for grade in store.cuts() if grade.cas == component.cas and search_key(grade.name) == key]
        if not named:
            raise Undecided(error.message, error.candidates) from None
        return named[0]
    if cut is None:
        nearest = sorted(store.cuts(), key=lambda other: -_likeness(other.name, f"{name} {component.name}"))
        raise Undecided(
            f"{component.name} ({component.cas}) boils over a range, and the store holds no boiling range of it; "
            "name a cut that is like it.",
            [candidate(other) for other in nearest[: MOST_TOLD + 1]],
        )
    return cut


def _volatile(component: Component) -> Component:
    """The component itself; refused where nothing is known of how it boils."""
    if component.curve_bank is not None or component.held("normal_boiling_point") is not None:
        return component
    behaviour = f"; it {component.phase_behaviour}" if component.phase_behaviour in ("sublimes", "decomposes") else ""
    raise Undecided(
        f"the store holds no boiling point and no vapour pressure of {component.name} ({component.cas}){behaviour}. "
        f'If it stays in the flask, it is "{NOT_VOLATILE}".',
        [candidate(component)],
    )


def _bearers(store: LabelStore, name: str) -> set[str]:
    """CAS numbers of all components that bear the name; empty if none does."""
    keys = filter(None, search_keys(_with_mixed_isomers(name)))
    return {cas for key in keys for (cas,) in store.rows(_BEARERS, key=key)}


def _near_by_name(store: LabelStore, name: str) -> list[dict[str, Any]]:
    try:
        return [candidate(store.component(name))]
    except CutpointError as error:
        return error.candidates


def _with_mixed_isomers(name: str) -> str:
    """The name with every way to say so in the words of the store.

    >>> _with_mixed_isomers("Xylol (Isomerengemisch)")
    'Xylol (mixed isomers)'
    """
    bare = _MIXED_ISOMERS.sub("", name).strip()
    return f"{bare} (mixed isomers)" if bare and bare != name.strip() else name


def _likeness(name: str, text: str) -> float:
    """Shared words first, then shared letters; "petroleum" tells cuts no better apart than "liquid" would."""
    words, others = (set(re.findall(r"\w{3,}", part.casefold())) - {"petroleum"} for part in (name, text))
    return len(words & others) + SequenceMatcher(None, name.casefold(), text.casefold()).ratio()


def _notes(line: LabelLine, note: str | None) -> str | None:
    return " ".join(text for text in (note, line.remark and f"{line.remark}.") if text) or None


def _note_repeats(found: Sequence[Ingredient]) -> list[Ingredient]:
    """Say on each line whose component stands on another line too that their shares are summed."""
    noted = []
    for one in found:
        same = [
            other.line.number for other in found if other.kind != NOT_VOLATILE and _identity(other) == _identity(one)
        ]
        if len(same) > 1 and one.kind != NOT_VOLATILE:
            told = f"It is listed {len(same)} times (lines {', '.join(map(str, same))}); the shares are summed."
            one = replace(one, note=f"{one.note} {told}" if one.note else told)
        noted.append(one)
    return noted


def _identity(one: Ingredient) -> tuple[str | None, str]:
    return one.cas, one.name
