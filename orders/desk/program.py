"""Loading a whole program from a folder of JSON documents: all of it, or nothing."""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings

from orders.common.errors import Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.services.stock import stock_values_post
from orders.desk.documents import Entry, Misread, Rows, document, no_other_lists, text
from orders.desk.program_pay import PAY
from orders.desk.program_people import PEOPLE
from orders.desk.program_places import PLACES
from orders.desk.program_rates import FILE as RATES_FILE
from orders.desk.program_rates import rates_load
from orders.desk.program_season import FILE as SEASON_FILE
from orders.desk.program_season import RULES, SEASON, chain_rules_load
from orders.desk.program_stock import DOCUMENTS, STOCK, documents_load
from orders.desk.program_stock import FILE as STOCK_FILE
from orders.desk.subjects import Subject

# In this order: an entry may name only rows of the lists before it.
SUBJECTS: tuple[Subject, ...] = (*PLACES, *PEOPLE, *STOCK, *PAY, *SEASON)
SAID_OF_THE_DOCUMENT = {"about", "clock"}
# Rules name methods, which come last; documents are files beside the folder's documents.
LOADED_LATER = {SEASON_FILE: {RULES}, STOCK_FILE: {DOCUMENTS}}


@writing()
def program_load(folder: Path, *, stamp: Stamp) -> dict[str, int]:
    """Add every entry of the folder's documents; returns how many of each list. `Invalid` names file, entry and field.

    Surveys are not part of it: they are imported as files (orders.sites.services).
    """
    documents = {file: document(folder, file) for file in dict.fromkeys(subject.file for subject in SUBJECTS)}
    for file, content in documents.items():
        lists = {subject.name for subject in SUBJECTS if subject.file == file}
        no_other_lists(file, content, lists | SAID_OF_THE_DOCUMENT | LOADED_LATER.get(file, set()))
    rows, counts = Rows(), Counter[str]()
    for subject in SUBJECTS:
        for entry in _entries(subject, documents[subject.file]):
            _entry_add(subject, entry, rows, stamp)
            counts[subject.name] += 1
    counts[DOCUMENTS] = documents_load(folder, documents[STOCK_FILE], rows, stamp)
    counts.update(rates_load(folder, document(folder, RATES_FILE), rows, stamp))
    counts[RULES] = chain_rules_load(folder, documents[SEASON_FILE], stamp)
    stock_values_post(posted_on=stamp.local_date(settings.PROGRAM_TIME_ZONE), stamp=stamp)
    return dict(counts)


def _entries(subject: Subject, content: dict[str, Any]) -> Iterator[Entry]:
    found = content.get(subject.name, [])
    listed = found if isinstance(found, list) else [found]
    return (Entry(subject.file, subject.name, number, values) for number, values in enumerate(listed, start=1))


def _entry_add(subject: Subject, entry: Entry, rows: Rows, stamp: Stamp) -> None:
    try:
        row = subject.add(entry, rows, stamp)
    except Misread:
        raise
    except Invalid as refusal:
        raise entry.located(refusal) from refusal
    entry.done()
    if subject.key:
        rows.keep(subject.name, entry.get(subject.key, text), row)
