"""The pages of saved views."""

import pytest
from django.urls import reverse

from orders.reports.models import SavedView
from tests import build

pytestmark = pytest.mark.django_db


def _text(client, name, *args):
    return client.get(reverse(name, args=args)).content.decode()


def test_it_is_saved_from_the_report(as_finance, finance):
    address = f"{reverse('view-save')}?report=cost&by=site&season=1"
    assert 'value="by=site&amp;season=1"' in as_finance.get(address).content.decode()
    reply = as_finance.post(
        reverse("view-save"), {"report": "cost", "query": "by=site", "name": "By site", "is_shared": "on"}
    )
    assert reply.url == reverse("report-views")
    view = SavedView.objects.get()
    assert (view.owner, view.name, view.query, view.is_shared) == (finance, "By site", {"by": "site"}, True)


def test_it_shows_the_error_beside_the_field(as_finance, finance):
    build.SavedViewFactory(owner=finance, name="By site")
    reply = as_finance.post(reverse("view-save"), {"report": "cost", "query": "", "name": "By site"})
    assert reply.status_code == 400
    assert "You have a view of this name." in reply.content.decode()


def test_it_opens_the_report_as_it_was_asked_for(as_finance, finance):
    view = build.SavedViewFactory(owner=finance, query={"by": "site", "month_from": "2027-02"})
    reply = as_finance.get(reverse("view-open", args=[view.public_id]))
    assert reply.url == f"{reverse('report', args=['cost'])}?by=site&month_from=2027-02"
    assert as_finance.get(reply.url).status_code == 200


def test_it_lists_own_and_shared_ones(as_finance, finance):
    build.SavedViewFactory(owner=finance, name="Mine")
    build.SavedViewFactory(name="Theirs", is_shared=True)
    build.SavedViewFactory(name="Hidden")
    shown = _text(as_finance, "report-views")
    assert "Mine" in shown
    assert "Theirs" in shown
    assert "Hidden" not in shown
    assert shown.count(">Remove<") == 1


def test_it_is_renamed_shared_and_removed(as_finance, finance):
    view = build.SavedViewFactory(owner=finance)
    as_finance.post(reverse("view-edit", args=[view.public_id]), {"name": "Other", "version": view.version})
    view.refresh_from_db()
    assert view.name == "Other"
    as_finance.post(reverse("view-share", args=[view.public_id]), {"is_shared": "yes", "version": view.version})
    view.refresh_from_db()
    assert view.is_shared
    as_finance.post(reverse("view-remove", args=[view.public_id]), {"version": view.version})
    assert not SavedView.objects.exists()


def test_it_leaves_alone_what_changed_meanwhile(as_finance, finance):
    view = build.SavedViewFactory(owner=finance)
    reply = as_finance.post(reverse("view-remove", args=[view.public_id]), {"version": "99"})
    assert reply.status_code == 412
    assert SavedView.objects.exists()


def test_it_is_nobody_elses_to_change(as_finance):
    view = build.SavedViewFactory(is_shared=True)
    assert as_finance.post(reverse("view-remove", args=[view.public_id]), {"version": 1}).status_code == 404


def test_it_is_closed_to_others(client, coordinator):
    client.force_login(coordinator)
    assert client.get(reverse("report-views")).status_code == 403
    assert client.get(f"{reverse('view-save')}?report=cost").status_code == 403
