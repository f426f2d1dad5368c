"""What a guide is made of. Plain text; words in “such quotes” stand on the pages, and a test looks for them there."""

from collections.abc import Iterator
from dataclasses import dataclass

USUAL_HEIGHT_PX = 560


@dataclass(frozen=True)
class Place:
    """A page as its reader comes to it: an address, then links that are followed one after another (selectors)."""

    address: str
    follow: tuple[str, ...] = ()
    tablet: bool = False


@dataclass(frozen=True)
class Mark:
    """A numbered mark on a picture: `kind` is the role of what it stands on ("field": the control of a label)."""

    kind: str
    words: str
    says: str


@dataclass(frozen=True)
class Picture:
    """A part of a page of the demo, taken by a script: `top` is where it begins, `height` how far it goes at most."""

    name: str
    alt: str
    place: Place
    marks: tuple[Mark, ...]
    top: str = "main"
    height: int = USUAL_HEIGHT_PX


@dataclass(frozen=True)
class Link:
    """A way to the very page. `of_season`: its address names a season, the one that runs."""

    words: str
    name: str
    of_season: bool = False


@dataclass(frozen=True)
class Step:
    """One step of somebody's work: what, why and how; `about` names further addresses whose Help leads here."""

    code: str
    name: str
    why: str
    how: tuple[str, ...]
    links: tuple[Link, ...] = ()
    about: tuple[str, ...] = ()
    picture: Picture | None = None
    places: tuple[Place, ...] = ()
    caution: str = ""

    def names(self) -> Iterator[str]:
        """The addresses whose pages the step tells of."""
        yield from (link.name for link in self.links)
        yield from self.about


@dataclass(frozen=True)
class Guide:
    """The work of one role, in its order. `login` is who it is in the demo, for the script and its test."""

    code: str
    role: str
    name: str
    intro: str
    login: str
    steps: tuple[Step, ...]

    @property
    def pictures(self) -> tuple[Picture, ...]:
        return tuple(step.picture for step in self.steps if step.picture)
