"""A site's checklist at the desk: all questions, answered at once, with the order that waits for them."""

import html
from datetime import date

import pytest
from django.urls import reverse

from orders.sites.models import ChecklistAnswer, ChecklistQuestion
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(db):
    for number, code in enumerate(("owner", "nests")):
        build.ChecklistQuestionFactory(code=code, question=f"Question of {code}?", sort=number)
    return build.SiteFactory()


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _question(code):
    return ChecklistQuestion.objects.get(code=code)


def _address(site):
    return reverse("site-checklist", args=[site.public_id])


def _page(client, address, **asked):
    return html.unescape(client.get(address, asked).content.decode())


def test_it_shows_every_question_with_what_keeps_it_open(desk, site):
    build.ChecklistAnswerFactory(site=site, question=_question("owner"), answer="Yes, by letter.")
    page = _page(desk, _address(site))
    for told in ("Question of owner?", "Yes, by letter.", "settled", "Not answered."):
        assert told in page


def test_it_answers_several_at_once(desk, site, coordinator):
    said = {"owner-answer": "Yes, by letter.", "owner-valid_until": "2100-12-31", "nests-answer": "An eagle."}
    assert desk.post(_address(site), {**said, "nests-stops_work": "on"}).url == _address(site)
    rows = ChecklistAnswer.objects.order_by("question__sort")
    found = [(row.answer, row.stops_work, row.valid_until, row.answered_by) for row in rows]
    until = date(2100, 12, 31)
    assert found == [("Yes, by letter.", False, until, coordinator), ("An eagle.", True, None, coordinator)]


def test_what_is_wrong_with_one_refuses_all_and_names_it(desk, site):
    said = {"owner-answer": "Yes.", "nests-answer": "None.", "nests-valid_until": "2001-01-01"}
    reply = desk.post(_address(site), said)
    page = html.unescape(reply.content.decode())
    assert (reply.status_code, "Question of nests?" in page, ChecklistAnswer.objects.count()) == (400, True, 0)
    assert "Yes.</textarea>" in page


def test_it_wants_an_answer_at_least(desk, site):
    assert desk.post(_address(site), {"owner-answer": " "}).status_code == 400


def test_it_judges_by_the_order_that_waits_and_goes_back_to_it(desk, site):
    order = build.WorkOrderFactory(site=site, last_day=date(2100, 6, 1))
    build.ChecklistAnswerFactory(site=site, question=_question("owner"), valid_until=date(2100, 1, 1))
    assert _page(desk, _address(site)).count("state-good") == 1
    assert "state-good" not in _page(desk, _address(site), order=order.public_id)
    said = {"order": str(order.public_id), "owner-answer": "Yes."}
    assert desk.post(_address(site), said).url == reverse("order", args=[order.public_id])


def test_others_may_look_and_not_answer(client, finance, site):
    client.force_login(finance)
    assert "Save the answers" not in _page(client, _address(site))
    assert client.post(_address(site), {"owner-answer": "Yes."}).status_code == 403


def test_it_says_that_nothing_is_asked(desk):
    assert "The program asks nothing" in _page(desk, _address(build.SiteFactory()))
