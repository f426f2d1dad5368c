"""Three people at the door, and a small set of books."""

import pytest

from tests import build
from tests.desk.pages.books import Books, books_made


@pytest.fixture
def finance(db):
    return build.UserFactory(username="fay", roles=["finance"])


@pytest.fixture
def coordinator(db):
    return build.UserFactory(username="cora", roles=["coordinator"])


@pytest.fixture
def crew_lead(db):
    return build.UserFactory(username="lee", roles=["crew_lead"])


@pytest.fixture
def books(db) -> Books:
    return books_made()


@pytest.fixture
def as_finance(client, finance):
    client.force_login(finance)
    return client
