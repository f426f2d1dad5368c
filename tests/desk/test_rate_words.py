"""Rate books say figures and drivers in words: no code of the reference books is left to a reader."""

import pytest
from django.urls import reverse

from estimating.rate_rows import COMPONENT_DRIVERS, COMPONENT_FACTORS, JOB_DRIVERS, PATCH_FACTORS
from orders.desk.templatetags.rates import FIGURES, PACE, figure_name
from orders.estimates.selectors import rate_book_in_force
from tests.estimates.books import changed_rows, draft
from tests.flow.world import csv_rows, world_build

BOOKS = ("rate_book.csv", "rate_book_volunteers.csv")
FIGURES_HELD = {row["step"] for name in BOOKS for row in csv_rows(name) if row["kind"] in ("allowance", "spread")}


@pytest.mark.parametrize("code", sorted(FIGURES_HELD))
def test_each_figure_of_the_reference_books_has_its_words(code):
    assert code in FIGURES or code.startswith(PACE)


@pytest.mark.parametrize("code", [*COMPONENT_DRIVERS, *JOB_DRIVERS, *PATCH_FACTORS, *COMPONENT_FACTORS])
def test_what_a_time_goes_by_is_said_without_its_unit(code):
    words = figure_name(code).removesuffix(", m").split()
    assert not {"m2", "m3", "m²", "m³", "m", "cm", "l", "L"} & set(words)
    assert "_" not in figure_name(code)


def test_a_step_is_called_what_the_book_calls_it():
    assert figure_name("pull with roots") == "pull with roots"
    assert figure_name("pace_volunteer") == "pace of the role volunteer"


@pytest.mark.django_db
def test_the_pages_of_a_book_say_them_and_find_them(client):
    world = world_build()
    client.force_login(world.coordinator)
    book, drafted = rate_book_in_force(), draft(world, changed_rows(kind="allowance", method="cut"))

    def page(name, of, query=""):
        return client.get(f"{reverse(name, args=[of.public_id])}{query}").content.decode()

    whole = page("rate-book", book)
    assert "fewest people" in whole
    assert "crew_least" not in whole
    assert "crew least" not in whole
    assert "fewest people" in page("rate-book", book, "?q=fewest+people")
    assert "pull with roots" not in page("rate-book", book, "?q=fewest+people")
    assert "fewest people" in page("rate-book-difference", drafted)
