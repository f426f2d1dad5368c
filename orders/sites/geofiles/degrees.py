"""Coordinates as people write them: plain numbers, or degrees with minutes and seconds; both of a place in one cell.

A plain number is taken as it stands, since it may count meters or feet. All else is an angle, and what could be meant
two ways is refused.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Literal

from orders.sites.geofiles.values import NUMBER, parse_number, with_point

Axis = Literal["longitude", "latitude"]
LONGITUDE: Axis = "longitude"
LATITUDE: Axis = "latitude"
# Where one column holds both: its field by the axis that stands first.
PAIRS: dict[str, tuple[Axis, Axis]] = {
    "latitude_longitude": (LATITUDE, LONGITUDE),
    "longitude_latitude": (LONGITUDE, LATITUDE),
}
MOST_DEG: dict[Axis, float] = {LONGITUDE: 180.0, LATITUDE: 90.0}
LETTERS: dict[Axis, str] = {LONGITUDE: "EW", LATITUDE: "NS"}
AXIS_WORDS = {"N": LATITUDE, "S": LATITUDE, "E": LONGITUDE, "W": LONGITUDE}
DEGREE, MINUTE, SECOND = "°", "'", '"'
MARKS = DEGREE + MINUTE + SECOND
PART_WORDS = ("degrees", "minutes", "seconds")
SIXTY = 60
# Longer than the longest way of writing both; prose is not searched for a place.
LONGEST = 80
SHARE_WRONG = 0.4
# Decimals by which two plain numbers in one cell look like a place and not like counts: about 100 m (our choice).
FINE = re.compile(r"\d\.\d{3}")

SAME_SIGNS = str.maketrans(
    {
        **dict.fromkeys("′’‘ʹ´`ʼ＇", MINUTE),
        **dict.fromkeys("″“”ʺ˝＂", SECOND),
        **dict.fromkeys("º˚ᵒ∘", DEGREE),
        **dict.fromkeys("−‐‑–﹣－", "-"),
        "Â": "",  # what is left of a degree sign that was read in the wrong encoding
    }
)
WORDS = (
    (re.compile(r"(?<=\d)d(?=\d)|\s*(?<![a-z])(?:degrees?|degs?)(?![a-z])\.?", re.IGNORECASE), DEGREE),
    (re.compile(r"\s*(?<![a-z])(?:minutes?|mins?)(?![a-z])\.?", re.IGNORECASE), MINUTE),
    (re.compile(r"\s*(?<![a-z])(?:seconds?|secs?)(?![a-z])\.?", re.IGNORECASE), SECOND),
    (re.compile(r"''"), SECOND),
)
HEMISPHERE = re.compile(r"(?<![a-z])(?:n(?:orth)?|s(?:outh)?|e(?:ast)?|w(?:est)?)(?![a-z])\.?", re.IGNORECASE)
PART = re.compile(r"(\d+(?:[.,]\d+)?)(?:\s*([°'\"]))?(?:\s*:\s*|(?<=\d)-(?=\d)|\s*)", re.ASCII)
SPLITS = re.compile(
    r"\s*[,;/|]\s*|\s+|(?<=[nsew])(?=[+-]?\d)|(?<=[\d°'\"])(?=[nsew](?![a-z]))", re.IGNORECASE | re.ASCII
)
PUNCTUATION = re.compile(r"[,;/|]")


@dataclass(frozen=True, slots=True)
class Written:
    """How a table writes its coordinates: with a comma for the decimal point, and whether they count degrees at all."""

    decimal_comma: bool = False
    in_degrees: bool = True


PLAINLY = Written()


@dataclass(frozen=True, slots=True)
class Part:
    """One number of an angle as it is written, with the mark behind it."""

    digits: str
    mark: str

    @property
    def value(self) -> float:
        return float(self.digits.replace(",", "."))

    @property
    def is_whole(self) -> bool:
        return self.digits.isdigit()


def parse_coordinate(text: str, axis: Axis, written: Written = PLAINLY) -> float:
    """The coordinate of a cell; ValueError says what is wrong with it. West and south are negative."""
    plain = with_point(text) if written.decimal_comma else text
    if is_plain(plain):
        return parse_number(plain)
    return _angle(text, _same_signs(text) if len(text) <= LONGEST else "", axis, written)


def is_plain(text: str) -> bool:
    return NUMBER.fullmatch(text) is not None


def parse_pair(text: str, order: tuple[Axis, Axis], written: Written = PLAINLY) -> tuple[float, float]:
    """East and north of a cell that holds both."""
    inner = _same_signs(text).strip("()[] ") if len(text) <= LONGEST else ""
    readings = set(_readings(inner, order, written))
    if len(readings) > 1:
        raise ValueError(f"“{text}” can be cut in two in more ways than one; put a comma between its two coordinates")
    if not readings:
        raise ValueError(_why_no_pair(text, inner, order, written))
    first, second = readings.pop()
    return (first, second) if order[0] == LONGITUDE else (second, first)


def fields_read(texts: Sequence[str], written: Written = PLAINLY) -> tuple[str, ...]:
    """The fields of a location in degrees that most of the texts could be; of pairs without letters latitude first."""
    axes: tuple[Axis, ...] = (LONGITUDE, LATITUDE)
    singles = [axis for axis in axes if _most(len(texts), (_reads(text, axis, written) for text in texts))]
    pairs = [
        name
        for name, order in PAIRS.items()
        if _most(len(texts), (_reads_pair(text, order, written) for text in texts))
    ]
    return (*singles, *pairs)


def _most(count: int, are_read: Iterable[bool]) -> bool:
    """A wrong cell among many does not hide what a column holds. Stops where it is sure."""
    most_wrong = int(count * SHARE_WRONG)
    return count > 0 and len(list(islice((read for read in are_read if not read), most_wrong + 1))) <= most_wrong


def looks_like_place(text: str) -> bool:
    """Whether it must be a place whatever its column is called: a hemisphere, a degree sign, or fine decimals twice."""
    signs = _same_signs(text)
    return DEGREE in signs or bool(HEMISPHERE.search(signs)) or len(FINE.findall(signs)) > 1


def _reads(text: str, axis: Axis, written: Written) -> bool:
    try:
        return abs(parse_coordinate(text, axis, written)) <= MOST_DEG[axis]
    except ValueError:
        return False


def _reads_pair(text: str, order: tuple[Axis, Axis], written: Written) -> bool:
    try:
        east, north = parse_pair(text, order, written)
    except ValueError:
        return False
    return abs(east) <= MOST_DEG[LONGITUDE] and abs(north) <= MOST_DEG[LATITUDE]


def _readings(text: str, order: tuple[Axis, Axis], written: Written) -> Iterator[tuple[float, float]]:
    """Each way to cut the text into two coordinates."""
    for cut in SPLITS.finditer(text):
        halves = text[: cut.start()], text[cut.end() :]
        try:
            first, second = (_half(half, axis, written) for half, axis in zip(halves, order, strict=True))
        except ValueError:
            continue
        if _names_both_sides(halves):
            yield first, second


def _half(signs: str, axis: Axis, written: Written) -> float:
    """One coordinate of a text whose signs are the same already."""
    plain = with_point(signs) if written.decimal_comma else signs
    return parse_number(plain) if is_plain(plain) else _angle(signs, signs, axis, written)


def _names_both_sides(halves: Sequence[str]) -> bool:
    """Where one coordinate names its hemisphere, the other does by letter or sign too."""
    lettered = [bool(HEMISPHERE.search(half)) for half in halves]
    signed = [half.startswith(("+", "-")) for half in halves]
    return not any(lettered) or all(letter or sign for letter, sign in zip(lettered, signed, strict=True))


def _why_no_pair(text: str, inner: str, order: tuple[Axis, Axis], written: Written) -> str:
    first, second = order
    if len(set(_readings(inner, (second, first), written))) == 1:
        return f"“{text}” tells its {second} first, and this column is matched as {first} and {second}"
    halves = PUNCTUATION.split(inner)
    if len(halves) == 2:
        for half, axis in zip(halves, order, strict=True):
            try:
                parse_coordinate(half.strip(), axis, written)
            except ValueError as unreadable:
                return str(unreadable)
    if len(HEMISPHERE.findall(inner)) == 1:
        return f"“{text}” names a hemisphere for one of its coordinates only"
    return f"“{text}” is not a {first} and a {second}, such as {_example(first)}, {_example(second)}"


def _example(axis: Axis) -> str:
    return "38.2014" if axis == LATITUDE else "-85.7003"


def _angle(text: str, signs: str, axis: Axis, written: Written) -> float:
    letters = list(HEMISPHERE.finditer(signs))
    if len(letters) > 1:
        raise ValueError(f"“{text}” names two hemispheres")
    sign, body = _signed(_without(signs, letters))
    parts = _parts(body)
    if not parts or (letters and not _at_an_end(signs, letters[0])):
        raise ValueError(_unreadable(text, axis))
    if not written.in_degrees:
        raise ValueError(f"“{text}” is in degrees, and the coordinate system that is named does not count degrees")
    _parts_check(text, parts, written)
    degrees = sum(part.value / float(SIXTY**place) for place, part in enumerate(parts))
    if degrees > MOST_DEG[axis]:
        raise ValueError(f"“{text}” is more than {MOST_DEG[axis]:g} degrees of {axis}")
    return _side(text, axis, sign, letters[0][0][0].upper() if letters else "") * degrees


def _same_signs(text: str) -> str:
    """One sign for each of the many that stand for minus, degrees, minutes and seconds."""
    signs = text.strip().translate(SAME_SIGNS)
    for words, mark in WORDS:
        signs = words.sub(mark, signs)
    return signs


def _without(signs: str, letters: Sequence[re.Match[str]]) -> str:
    return (signs[: letters[0].start()] + signs[letters[0].end() :]).strip() if letters else signs


def _at_an_end(signs: str, letter: re.Match[str]) -> bool:
    return not signs[: letter.start()].strip("+- ") or not signs[letter.end() :].strip()


def _signed(body: str) -> tuple[str, str]:
    return (body[0], body[1:].lstrip()) if body[:1] in ("+", "-") else ("", body)


def _parts(body: str) -> list[Part]:
    """The numbers of the angle with their marks, or none where something else stands among them."""
    parts, at = [], 0
    while at < len(body):
        found = PART.match(body, at)
        if found is None:
            return []
        parts.append(Part(found[1], found[2] or ""))
        at = found.end()
    has_end = not body.endswith(":")
    in_order = all(part.mark in ("", mark) for part, mark in zip(parts, MARKS, strict=False))
    return parts if has_end and in_order and len(parts) <= len(MARKS) else []


def _parts_check(text: str, parts: Sequence[Part], written: Written) -> None:
    if any(not part.is_whole for part in parts[:-1]):
        raise ValueError(f"“{text}” has a fraction before its last number")
    if "," in parts[-1].digits and not (written.decimal_comma or len(parts) > 1 or parts[-1].mark):
        raise ValueError(f"“{text}” can be read two ways; write it with a point, such as 38.2014")
    for part, words in list(zip(parts, PART_WORDS, strict=False))[1:]:
        if part.value >= SIXTY:
            raise ValueError(f"“{text}” has {part.digits} {words}; they are less than {SIXTY}")


def _side(text: str, axis: Axis, sign: str, letter: str) -> int:
    """1 north and east of zero, -1 south and west of it."""
    if letter and AXIS_WORDS[letter] != axis:
        raise ValueError(f"“{text}” is a {AXIS_WORDS[letter]} ({letter}), and its column holds the {axis}")
    is_negative = letter in ("S", "W") if letter else sign == "-"
    if letter and sign and is_negative != (sign == "-"):
        raise ValueError(f"“{text}” has the sign {sign} and the letter {letter}, which do not agree")
    return -1 if is_negative else 1


def _unreadable(text: str, axis: Axis) -> str:
    example = "38°12'34.5\"N" if axis == LATITUDE else "85°41'3\"W"
    hint = " (write it without commas, such as 1250.5)" if "," in text else ""
    return f"“{text}” is neither a number{hint} nor degrees, minutes and seconds such as {example}"
