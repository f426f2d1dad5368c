"""Time between punches, and punches rounded as payroll counts them; the true moments are kept beside them."""

from datetime import UTC, datetime, timedelta

from estimating.errors import InvalidFact

# 29 CFR 785.48(b): to the nearest five minutes, tenth or quarter of an hour.
PUNCH_MINUTES = (0, 5, 6, 15)


def elapsed_minutes(start: datetime, end: datetime) -> int:
    """Whole minutes that really passed between two moments with time zones, the last one begun left out.

        minutes = floor((end - start) / 60 s), both as moments of UTC

    A night in which the clocks change has an hour more or less; the difference of wall clocks would miss it. Source:
    common practice. InvalidFact: a moment without a zone, an end before its start.
    """
    for field, moment in (("start", start), ("end", end)):
        _aware(moment, field)
    passed = end.astimezone(UTC) - start.astimezone(UTC)
    if passed < timedelta(0):
        raise InvalidFact("must not be before the start", "end")
    return passed // timedelta(minutes=1)


def punch_rounded(moment: datetime, minutes: int) -> datetime:
    """A punch rounded to the nearest 5, 6 or 15 minutes of its own clock, half up by minute; 0 leaves it as it is.

    Seconds are dropped first: with 15, minutes 1 to 7 go down and 8 to 14 up, so that 7:07 counts as 7:00 and 7:08 as
    7:15. Rounding is allowed only as long as it evens out. Sources: 29 CFR 785.48(b); quarter hours by Fact Sheet 53 of
    the Wage and Hour Division (from memory). InvalidFact: a moment without a zone, other minutes.
    """
    _aware(moment, "moment")
    if minutes not in PUNCH_MINUTES:
        raise InvalidFact(f"must be one of {', '.join(map(str, PUNCH_MINUTES))}", "minutes")
    if minutes == 0:
        return moment
    over = moment.minute % minutes
    shift = minutes - over if 2 * over >= minutes else -over
    whole_minute = moment.astimezone(UTC).replace(second=0, microsecond=0)
    return (whole_minute + timedelta(minutes=shift)).astimezone(moment.tzinfo)


def _aware(moment: datetime, field: str) -> None:
    if moment.utcoffset() is None:
        raise InvalidFact("needs a time zone", field)
