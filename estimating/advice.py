"""What weather and day length say of a site's season, in a few sentences. Advice only: no window rests on it."""

from dataclasses import dataclass
from datetime import date
from statistics import fmean

from estimating.day_length import day_length_on, first_day_below
from estimating.degree_days import Accumulated, accumulated, fahrenheit_days
from estimating.frost import first_freezes
from estimating.leaf_fall import MIDSUMMER, leaf_fall
from estimating.season_calendar import SeasonCalendar
from estimating.weather import DailyWeather

# Day lengths at which many woody plants of the temperate zone slow down and drop leaves (from memory).
SHORT_DAYS_HOURS = (11.0, 10.5)
ADVICE_ONLY = "Advice only, the site's own records decide."


@dataclass(frozen=True)
class SeasonAdvice:
    """Sentences on the season so far; `line` is all of them, and says that they are advice."""

    sentences: tuple[str, ...]

    @property
    def line(self) -> str:
        """One line for a page."""
        return " ".join((ADVICE_ONLY, *self.sentences))


def season_advice(
    on: date, latitude_deg: float, site: SeasonCalendar, weather: DailyWeather | None = None
) -> SeasonAdvice:
    """Degree days, day length, leaf fall and first freeze at a site, by what is on record up to a day.

    `weather` may be of several years; what lies after the day is not looked at. Leaf fall and freeze are told
    of sites north of the equator only.
    """
    found = [_day_length(on, latitude_deg)]
    if weather is not None and weather.ids:
        known = weather.between(date.fromisoformat(weather.ids[0]), on)
        found.insert(0, _degree_days(known, on))
        if latitude_deg >= 0:
            found += [_leaf_fall(known, on, latitude_deg, site), _first_freeze(known)]
    return SeasonAdvice(tuple(sentence for sentence in found if sentence))


def _degree_days(weather: DailyWeather, on: date) -> str:
    """The year's sum, beside the mean of other years that are on record without a gap up to the same day."""
    now = _since_january(weather, on.year, on)
    if not now.days_counted:
        return ""
    others = [_since_january(weather, year, on) for year in _years_before(weather, on.year)]
    whole = [fahrenheit_days(year.degree_days_c) for year in others if not year.missing]
    if whole:
        years = f"{len(whole)} other year{'' if len(whole) == 1 else 's'}"
        beside = f"; {fmean(whole):,.0f} by this day in {years}"
    else:
        beside = "; no other year is whole up to this day"
    least = "at least " if now.missing else ""
    days = fahrenheit_days(now.degree_days_c)
    return f"Degree days (86/50 °F) since January 1: {least}{days:,.0f}{_missing(now.missing)}{beside}."


def _years_before(weather: DailyWeather, year: int) -> range:
    return range(date.fromisoformat(weather.ids[0]).year, year)


def _since_january(weather: DailyWeather, year: int, on: date) -> Accumulated:
    last = date(year, 2, 28) if (on.month, on.day) == (2, 29) else date(year, on.month, on.day)
    return accumulated(weather, date(year, 1, 1), last if year != on.year else on)


def _missing(days: tuple[date, ...]) -> str:
    return f", {len(days)} day{'' if len(days) == 1 else 's'} missing" if days else ""


def _day_length(on: date, latitude_deg: float) -> str:
    minutes = round(day_length_on(latitude_deg, on) * 60)
    below = [
        f"below {hours:g} h {'since' if day <= on else 'from'} {_day(day)}"
        for hours in SHORT_DAYS_HOURS
        if (day := first_day_below(latitude_deg, hours, on.year))
    ]
    return f"Day length {minutes // 60} h {minutes % 60:02} min{''.join(f', {words}' for words in below)}."


def _leaf_fall(weather: DailyWeather, on: date, latitude_deg: float, site: SeasonCalendar) -> str:
    """The model's day of the newest fall that has begun, beside the site's own mean."""
    year = on.year if on >= date(on.year, *MIDSUMMER) else on.year - 1
    found = leaf_fall(weather, latitude_deg, year)
    if found.known_to is None:
        return ""
    own = "the site has no record of its own"
    if site.leaf_off is not None:
        own = f"the site's own mean is {_day(site.leaf_off.on(year))}, which is more accurate"
    day = f"is {_day(found.day)}" if found.day else f"is not reached by {_day(found.known_to)}"
    return f"Leaf fall of {year} by a model {day}{_missing(found.missing)}; {own}."


def _first_freeze(weather: DailyWeather) -> str:
    freezes = first_freezes(weather)
    seasons = len(freezes.days)
    if not freezes.enough:
        return f"First freeze: {seasons} of the {freezes.least_seasons} seasons needed are on record."
    half = freezes.date_of(0.5, 2001)
    words = (
        f"half of {seasons} seasons froze by {_day(half)}" if half else f"fewer than half of {seasons} seasons froze"
    )
    return f"First freeze: {words}."


def _day(day: date) -> str:
    return f"{day:%B} {day.day}"
