"""Which day it was at the site: of a day alone the one that is written, of a moment the one that it fell on there."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, time
from zoneinfo import ZoneInfo

from orders.sites.geofiles.mapping import Source
from orders.sites.geofiles.records import RawRow, RowWarning
from orders.sites.geofiles.values import moment_of, parse_day, text_of

MIDNIGHT = time(0)


@dataclass(frozen=True, slots=True)
class Moved:
    """A row whose day at the site is another than the one that is written."""

    row: int
    text: str
    day: date
    zone: str


@dataclass
class Days:
    """How the days of one file are read. `as_written`: all of its moments are midnight, so that they are days that a
    program wrote with a time; to turn those into the day at the site would move each of them."""

    as_written: bool = False
    moved: list[Moved] = field(default_factory=list)

    def read(self, row: int, text: str, day_format: str | None, zone: str) -> date:
        """ValueError where it is no day."""
        written = parse_day(text, day_format)
        if not zone:
            return written
        at_site = parse_day(text, day_format, ZoneInfo(zone))
        if at_site != written:
            self.moved.append(Moved(row, text, at_site, zone))
        return written if self.as_written else at_site

    def warnings(self) -> list[RowWarning]:
        """What a person should know of it, told once for the file."""
        if not self.moved:
            return []
        first = self.moved[0]
        if self.as_written:
            reason = (
                "Every time of the file is midnight, so its days are taken as they are written, without regard to the "
                f"offset from UTC. In {first.zone} it was still {first.day.isoformat()} at {first.text}."
            )
            return [RowWarning(0, "observed_on", "day_in_utc", reason)]
        reason = (
            f"{_rows(len(self.moved))} another day at the site than is written, since the time is told with its offset "
            f"from UTC, and the day at the site is taken. Row {first.row}: {first.text} is {first.day.isoformat()} in "
            f"{first.zone}."
        )
        return [RowWarning(0, "observed_on", "day_at_site", reason)]


def days_of(rows: Iterable[RawRow], source: Source | None) -> Days:
    """How to read the days of these rows; `source` is where their day comes from."""
    if source is None or source.column is None:
        return Days()
    texts = (text_of(row.attributes.get(source.column)) for row in rows)
    moments = [moment for text in texts if (moment := moment_of(text, source.format)) is not None]
    return Days(as_written=bool(moments) and all(moment.time() == MIDNIGHT for moment in moments))


def _rows(count: int) -> str:
    return "1 row has" if count == 1 else f"{count:,} rows have"
