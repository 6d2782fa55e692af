"""Running text of a sheet: the conditions it holds for, and the steps to take."""

from __future__ import annotations

from cutpoint.db.matches import celsius
from cutpoint.db.verdicts import SIMPLE

from ..figures import pressure, significant
from ..stills.results import Fraction, Opening, Plan
from .amounts import interval, mass, percent, temperature, volume
from .tables import contents

LABEL, STEPS, EXPECTED = "What was understood of the label", "What to do", "What to expect"
OPENING, FRACTIONS, HEAD = "Opening the package", "Fractions", "Head temperature"
PRODUCT, REFLUX = "Yield and purity", "Other reflux ratios, for the middle of the label"
DUTY = "Time, heat and cost"
PAIRS, HOLDING, WEAK = "What cannot be parted, and why", "Condenser and receiver", "Weak points"
NO_CURVE = "No head temperature can be foretold."
NOT_REACHED = "The purity that is wanted is not had this way; these steps give what comes over all the same. "

FIGURES = (
    "Figures are those of the middle of the label; what follows ±, or stands in brackets, holds 95 of 100 of the {} "
    "compositions tried that the label allows. mL are those at 20 °C, shares are by mass."
)
FILL = "at most two thirds full, with boiling stones or a stirrer"
BOILS_IN_THE_ROOM_K = 313.15
"""What boils below 40 °C is not shut in; common practice, no source."""
REDUCED_PA = 60_000.0
"""Below it a pump makes the pressure."""
PEROXIDES_FIRST = (
    "Test for peroxides first, as the cautions say, and go on only when there are none. Leave a tenth or more in the "
    "flask."
)
STEADY_MINUTES = 15
"""How long the head reading stands still before anything is taken off; common practice, no source."""


def conditions(plan: Plan) -> str:
    """Pressure, apparatus and batch in one sentence."""
    altitude = "" if plan.altitude_m is None else f", the standard atmosphere's at {plan.altitude_m:.0f} m"
    plates = f"{plan.plates or 'no'} theoretical plate{'' if plan.plates == 1 else 's'} above the flask"
    return (
        f"Holds at {pressure(plan.pressure_Pa)}{altitude}, for {volume(plan.feed_volume_m3)} "
        f"({mass(plan.feed_mass_kg)}); {plan.column}, {plates}, {_ratio(plan)}."
    )


def how_to_read(plan: Plan) -> str:
    """What the intervals mean, and what is in the readings."""
    told = FIGURES.format(plan.n_compositions)
    if plan.thermometer_correction_K:
        told += (
            f" Head readings are those of your thermometer: its correction of {plan.thermometer_correction_K:+.2g} K "
            "is in them."
        )
    return told


def _ratio(plan: Plan) -> str:
    return f"reflux ratio {significant(plan.reflux_ratio)}" if plan.reflux_ratio else "no reflux"


def steps(plan: Plan) -> list[str]:
    """What to do, in order."""
    here = pressure(plan.pressure_Pa)
    return [
        ("" if plan.product.reached else NOT_REACHED)
        + f"Read the cautions, and the {_gauge(plan)}: at another pressure than {here}, make the sheet anew.",
        *([PEROXIDES_FIRST] if any("peroxide strip" in caution for caution in plan.cautions) else []),
        *([] if plan.opening is None else [_open(plan.opening)]),
        f"Fill the flask, {FILL}: {volume(plan.charge_volume_m3)}. Set up: {plan.column}, with a thermometer in the "
        "still head.",
        _cool(plan),
        _heat(plan),
        *([_read_against(plan)] if plan.product.reached else []),
        *_receivers(plan),
        f"Sign of the end: {plan.end_sign.words}",
        _residue(plan),
    ]


def _gauge(plan: Plan) -> str:
    return "pressure gauge" if plan.pressure_Pa < REDUCED_PA else "barometer"


def _open(found: Opening) -> str:
    told = (
        f"Open the package in the hood at {celsius(found.temperature_K)} or colder, slowly, away from every flame and "
        f"spark; {_pressed(found)}."
    )
    if found.through_column:
        return (
            f"{told} Let the gas boil off through the cooled column: {percent(found.leaves_with_column)} of the whole "
            f"leaves, with {percent(found.target_lost_with_column)} of the target (from an open flask "
            f"{percent(found.target_lost_bare)} of it)."
        )
    return (
        f"{told} Let the gas boil off into the hood: {percent(found.leaves_bare)} of the whole leaves, with "
        f"{percent(found.target_lost_bare)} of the target. (A column with a coolant colder than the gas boils would "
        f"keep all but {percent(found.target_lost_with_column)} of it.)"
    )


def _pressed(found: Opening) -> str:
    if found.pressure_Pa is None:
        return "what pressure it stands under is not known"
    return f"it stands under {interval(found.pressure_Pa, 1e-3, 'kPa')} absolute"


def _cool(plan: Plan) -> str:
    held = plan.holding
    coolant = "Turn on the coolant" if held.coolant_K is None else f"Turn on the coolant at {celsius(held.coolant_K)}"
    bath = "" if held.receiver_bath_K is None else f" and set the receiver in a bath of {celsius(held.receiver_bath_K)}"
    sure = "" if held.condenser_holds else " Do not heat before the condenser is known to hold the vapour."
    vent = "leave one place open, vented into the hood"
    if plan.pressure_Pa < REDUCED_PA:
        vent = (
            "the pump stands behind a cold trap at the receiver's side. Look the glass over for flaws, and work behind "
            "a shield with goggles on: it can implode. Let air in only when the flask is cold"
        )
    return f"{coolant}{bath}; {vent}.{sure}"


def _heat(plan: Plan) -> str:
    boil_up = "" if plan.duty.boil_up_W is None else f", to a boil-up of some {significant(plan.duty.boil_up_W, 3)} W"
    if not plan.reflux_ratio:
        return f"Heat slowly{boil_up}; a drop or two a second."
    return (
        f"Heat slowly{boil_up}. Keep total reflux until the head reading has stood still for {STEADY_MINUTES} minutes; "
        f"then take off at a {_ratio(plan)}."
    )


def _read_against(plan: Plan) -> str:
    """The plateau tells what the thermometer is off by, which the changes of receivers suppose to be known."""
    plateau = celsius(plan.end_sign.from_reading_K)
    return (
        f"While the product comes over steadily the head should read about {plateau}. Where yours stands otherwise, "
        "shift every reading below by the difference."
    )


def _receivers(plan: Plan) -> list[str]:
    """One step for each receiver: what it takes, until when."""
    distilled = [one for one in plan.fractions if one.name != "residue"]
    return [_receiver(place, one, is_last=place == len(distilled)) for place, one in enumerate(distilled, 1)]


def _receiver(place: int, one: Fraction, *, is_last: bool) -> str:
    until = f"{volume(one.to_volume_m3)} are over in all"
    if one.to_reading_K is not None:
        until = f"the head reads {temperature(one.to_reading_K)}; expect it when some {until}"
    start = "from the first drop " if place == 1 else ""
    then = "Then stop: take the heat away." if is_last else "Then change the receiver."
    if one.name == "product" and not is_last:
        then = "Then stop, or change the receiver and go on for what follows."
    return f"Receiver {place}, {one.name}: {start}until {until}. It holds {volume(one.volume_m3)}. {then}"


def _residue(plan: Plan) -> str:
    left = [one for one in plan.fractions if one.name == "residue"]
    amount = f"{volume(left[0].volume_m3)} ({contents(left[0].contents)} %)" if left else "What is left"
    if plan.curve.pot_K and plan.curve.pot_K[-1] < BOILS_IN_THE_ROOM_K:
        return (
            f"Leave the residue in the flask: {amount}. It boils at {celsius(plan.curve.pot_K[-1])}, hardly above the "
            "room: no closed vessel may hold it. Let it boil off in the hood, far from every flame."
        )
    return (
        f"Leave the residue in the flask: {amount}. Let it cool, then put it into closed, labelled solvent waste. "
        "Measure every fraction and write it down."
    )


def not_parted(plan: Plan) -> list[str]:
    """What no column parts here; a sentence where that is nothing."""
    return list(plan.not_parted) or ["Nothing named on the label is known to stay together with the product here."]


def pairs_left_out(shown: int, plan: Plan) -> str | None:
    """What the table of pairs leaves out; None where it shows all."""
    simple = sum(row.verdict == SIMPLE for row in plan.pairs)
    further = len(plan.pairs) - simple - shown
    told = [
        f"Not shown, none harder: {further} (all in `--json`)." if further else "",
        f"Parted by simple distillation: {simple}." if simple else "",
    ]
    return " ".join(filter(None, told)) or None


def package(found: Opening) -> str:
    """What stands in a package of liquefied gas, and what comes out of it."""
    read = "" if found.read_pressure_Pa is None else f", where {pressure(found.read_pressure_Pa)} was read"
    known = _pressed(found).replace("it stands", "the package stands", 1)
    return (
        f"At {celsius(found.temperature_K)} {known}{read}. From an open flask {interval(found.gas_m3, 1e3, 'L')} of "
        f"gas escape, measured at 20 °C: {contents(found.gases)} % by mass."
    )
