from datetime import date, timedelta

import pytest

from orders.common.errors import Invalid
from orders.sites.models import ChecklistAnswer
from orders.sites.selectors import checklist_open
from orders.sites.services import checklist_answer
from tests import build

pytestmark = pytest.mark.django_db
ON = date(2027, 3, 1)


@pytest.fixture
def site():
    return build.SiteFactory()


@pytest.fixture
def question():
    return build.ChecklistQuestionFactory()


def test_it_holds_a_question_open_until_it_is_answered(stamp, site, question):
    assert [(row.question, row.why) for row in checklist_open(site, ON)] == [(question, "Not answered.")]
    checklist_answer(stamp=stamp, site=site, question=question, answer="Streams are flagged.")
    assert checklist_open(site, ON) == []


def test_it_counts_the_newest_answer_and_keeps_the_one_before(stamp, site, question):
    checklist_answer(stamp=stamp, site=site, question=question, answer="No.", stops_work=True)
    assert "No." in checklist_open(site, ON)[0].why
    checklist_answer(stamp=stamp, site=site, question=question, answer="Settled.")
    assert checklist_open(site, ON) == []
    assert ChecklistAnswer.objects.count() == 2


def test_it_opens_a_question_again_when_the_answer_has_run_out(stamp, site, question):
    until = ON + timedelta(days=10)
    checklist_answer(stamp=stamp, site=site, question=question, answer="Yes.", valid_until=until)
    assert checklist_open(site, until) == []
    assert str(until) in checklist_open(site, until + timedelta(days=1))[0].why


def test_it_does_not_take_another_sites_answer(stamp, site, question):
    checklist_answer(stamp=stamp, site=build.SiteFactory(), question=question, answer="Yes.")
    assert len(checklist_open(site, ON)) == 1


@pytest.mark.parametrize(
    ("changed", "field"), [({"answer": "  "}, "answer"), ({"valid_until": date(2027, 2, 28)}, "valid_until")]
)
def test_it_names_the_field_that_is_wrong(stamp, site, question, changed, field):
    with pytest.raises(Invalid) as refusal:
        checklist_answer(**{"stamp": stamp, "site": site, "question": question, "answer": "Yes."} | changed)
    assert [error.field for error in refusal.value.errors] == [field]
    assert not ChecklistAnswer.objects.exists()
