"""Papers that crews carry and officers ask for: one content, shown as a page and as a PDF, in English or Spanish."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import override

from orders.desk.paper_map import PaperMap

LANGUAGES = (("en", "English"), ("es", "Español"))


@dataclass(frozen=True)
class Part:
    """A heading with facts (name and value), a table, or lines. `caution`: somebody may be hurt. `is_form`: people
    write into its rows by hand; `own_page`: it begins one. `shares`: of the width, one a column; else all are alike."""

    heading: str
    facts: Sequence[tuple[str, str]] = ()
    columns: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    lines: Sequence[str] = ()
    caution: str = ""
    is_form: bool = False
    own_page: bool = False
    shares: Sequence[float] = ()

    @property
    def is_empty(self) -> bool:
        return not (self.facts or self.rows or self.lines or self.caution)


@dataclass(frozen=True)
class Paper:
    """`foot` names it at the foot of each page; else its title does."""

    title: str
    subtitle: str
    language: str
    parts: Sequence[Part]
    drawing: PaperMap | None = None
    signatures: Sequence[str] = ()
    foot: str = ""

    def page_words(self, number: int, count: int) -> str:
        with spoken(self.language):
            told = _("page %(number)d of %(count)d") % {"number": number, "count": count}
        return f"{self.foot or self.title}, {told}"

    @property
    def caution_word(self) -> str:
        with spoken(self.language):
            return _("Caution")

    @property
    def map_word(self) -> str:
        with spoken(self.language):
            return _("Map")

    @property
    def shown(self) -> list[Part]:
        return [part for part in self.parts if not part.is_empty]


@contextmanager
def spoken(language: str | None) -> Iterator[str]:
    """Within it texts are in that language, where it is one of ours, else in English."""
    known = language if language in dict(LANGUAGES) else "en"
    with override(known):
        yield known
