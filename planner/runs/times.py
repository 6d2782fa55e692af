"""Times as noted, made to count from the first one."""

from __future__ import annotations

from collections.abc import Sequence

from cutpoint.schema.errors import WrongRun

DAY_S, HALF_DAY_S = 86_400.0, 43_200.0


def elapsed(noted: Sequence[tuple[int, tuple[float, bool] | None]]) -> tuple[list[float | None], list[str]]:
    """Times in s since the first, None where none was noted, and what is to be said of them.

    `noted` holds line, time and whether it was told with a colon. A clock that
    falls by more than twelve hours has passed midnight; any other way back
    raises WrongRun, as does a file with both kinds of time.
    """
    _refuse_both_kinds(noted)
    start: float | None = None
    last: tuple[int, float] | None = None
    nights = 0
    told: list[str] = []
    times: list[float | None] = []
    for line, time in noted:
        if time is None:
            times.append(None)
            continue
        seconds = time[0] + nights * DAY_S
        if last is not None and seconds < last[1]:
            if not time[1] or not HALF_DAY_S < last[1] - seconds < DAY_S:
                raise WrongRun(_backwards(last[0], line, is_clock=time[1]))
            nights += 1
            seconds += DAY_S
            told.append(f"Between lines {last[0]} and {line} the clock passed midnight.")
        start = seconds if start is None else start
        last = line, seconds
        times.append(seconds - start)
    return times, told


def _refuse_both_kinds(noted: Sequence[tuple[int, tuple[float, bool] | None]]) -> None:
    first = {is_clock: line for line, time in reversed(noted) if time is not None for is_clock in (time[1],)}
    if len(first) == 2:
        raise WrongRun(
            f"Line {first[True]} tells the time with a colon and line {first[False]} as a number. Use one kind of time "
            "in a file."
        )


def _backwards(before: int, line: int, *, is_clock: bool) -> str:
    hint = (
        "Past midnight it is understood only if it falls by more than twelve hours; write 13:05, not 1:05, for the "
        "afternoon."
        if is_clock
        else "Minutes count on from the start; past midnight, write times of day such as 23:55 and 0:05."
    )
    return f"The time runs backwards between lines {before} and {line}. Correct one of them. {hint}"
