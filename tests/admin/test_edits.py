"""Every write through the administration pages leaves a change record."""

import json
from datetime import date

import pytest
from django.urls import reverse

from orders.common.models import Change, User
from orders.costs.models import PayRate
from orders.crews.models import Crew, StandardRate
from orders.planning.models import ChainRule, SeasonFund
from orders.sites.models import ChecklistAnswer, Site
from orders.supplies.models import Product
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def administrator(client):
    user = build.UserFactory(roles=["administrator"], is_staff=True, is_superuser=True)
    client.force_login(user)
    return user


def page(row):
    return reverse(f"admin:{row._meta.app_label}_{row._meta.model_name}_change", args=[row.pk])


def add_page(name):
    return reverse(f"admin:{name}_add")


def filled(client, address, **changed):
    """What a browser would send: the form as it stands, with some fields changed."""
    context = client.get(address).context
    forms = [context["adminform"].form]
    for inline in context["inline_admin_formsets"]:
        forms += [inline.formset.management_form, *inline.formset.forms]
    sent = {}
    for form in forms:
        for bound in form:
            value = bound.value()
            if isinstance(value, bool):
                value = "on" if value else ""
            sent[bound.html_name] = "" if value is None else value
    return {name: value for name, value in (sent | changed).items() if value != ""}


def test_it_records_an_edit_and_counts_the_version(client, administrator):
    crew = build.CrewFactory(name="Hollow crew")
    assert client.post(page(crew), filled(client, page(crew), name="Ridge crew")).status_code == 302
    change = Change.objects.get(verb="admin_edit")
    assert (change.actor, change.before, change.after) == (
        administrator,
        {"name": "Hollow crew"},
        {"name": "Ridge crew"},
    )
    assert (Crew.objects.get().version, change.entity_version) == (2, 2)


def test_it_refuses_to_undo_what_somebody_else_has_just_done(client, administrator):
    crew = build.CrewFactory(name="Hollow crew")
    sent = filled(client, page(crew), name="Ridge crew")
    Crew.objects.update(version=2, hours_a_day=10)
    assert b"changed by somebody else" in client.post(page(crew), sent).content
    assert Crew.objects.get().name == "Hollow crew"
    assert not Change.objects.exists()


def test_it_records_nothing_when_nothing_was_changed(client, administrator):
    crew = build.CrewFactory()
    assert client.post(page(crew), filled(client, page(crew))).status_code == 302
    assert not Change.objects.exists()
    assert Crew.objects.get().version == 1


def test_it_records_a_row_that_is_added(client, administrator):
    role = build.LaborRoleFactory()
    sent = {"role": role.pk, "from_day": "2027-07-01", "rate_e4": 300_000, "source": "budget"}
    assert client.post(add_page("crews_standardrate"), sent).status_code == 302
    change = Change.objects.get(verb="admin_add")
    assert change.entity_id == StandardRate.objects.get().public_id
    assert (change.after or {})["rate_e4"] == 300_000


def test_it_keeps_pay_out_of_the_record(client, administrator):
    sent = {"person": build.PersonFactory().pk, "from_day": "2027-07-01", "rate_e4": 431_000}
    assert client.post(add_page("costs_payrate"), sent).status_code == 302
    assert PayRate.objects.get().rate_e4 == 431_000
    assert "431000" not in json.dumps(Change.objects.get().after)


def test_it_moves_the_box_with_the_boundary(client, administrator):
    site = build.SiteFactory()
    boundary = json.dumps(build.square(-86.0, 38.3, side=0.01))
    assert client.post(page(site), filled(client, page(site), boundary=boundary)).status_code == 302
    kept = Site.objects.get()
    assert (kept.min_lon, kept.min_lat, kept.max_lon, kept.max_lat) == (-86.0, 38.3, -85.99, 38.31)


@pytest.mark.parametrize(
    ("field", "wrong", "said"),
    [("boundary", '{"type": "Point", "coordinates": [0, 0]}', b"Polygon"), ("time_zone", "Mars/Base", b"IANA")],
)
def test_it_checks_a_site_as_the_verb_does(client, administrator, field, wrong, said):
    site = build.SiteFactory()
    assert said in client.post(page(site), filled(client, page(site), **{field: wrong})).content
    assert Site.objects.get().version == 1


def test_it_records_a_cap_as_a_change_of_its_product(client, administrator):
    product = build.ProductFactory()
    sent = filled(client, page(product), **{"caps-0-kg_ae_per_ha": "5.5"})
    assert client.post(page(product), sent).status_code == 302
    change = Change.objects.get(entity_id=product.public_id)
    rates = [side["caps"][0]["kg_ae_per_ha"] for side in (change.before, change.after) if side]
    assert rates == [8.0, 5.5]
    assert Product.objects.get().version == 2


def test_it_signs_an_answer_with_who_gave_it(client, administrator):
    sent = {"site": build.SiteFactory().pk, "question": build.ChecklistQuestionFactory().pk, "answer": "Asked."}
    assert client.post(add_page("sites_checklistanswer"), sent).status_code == 302
    assert ChecklistAnswer.objects.get().answered_by == administrator


def test_it_opens_the_pages_to_a_user_who_becomes_finance(client, administrator):
    user = build.UserFactory(roles=["coordinator"])
    role = build.RoleFactory(code="finance")
    assert client.post(page(user), filled(client, page(user), roles=[role.pk])).status_code == 302
    kept = User.objects.get(pk=user.pk)
    assert (sorted(kept.role_codes), kept.is_staff, kept.is_superuser) == (["finance"], True, False)
    change = Change.objects.get(entity_id=user.public_id)
    assert (change.before, change.after) == ({"roles": ["coordinator"]}, {"roles": ["finance"]})


def test_it_records_that_a_password_was_set_and_never_which(client, administrator):
    user = build.UserFactory()
    address = reverse("admin:auth_user_password_change", args=[user.pk])
    sent = {"password1": "a-long-enough-phrase", "password2": "a-long-enough-phrase", "usable_password": "true"}
    assert client.post(address, sent).status_code == 302
    change = Change.objects.get(entity_id=user.public_id)
    assert (change.verb, change.before, change.after) == ("admin_password_set", None, None)
    assert User.objects.get(pk=user.pk).check_password("a-long-enough-phrase")


def test_it_says_so_when_a_day_comes_twice(client, administrator):
    rate = build.StandardRateFactory(from_day=date(2027, 7, 1))
    sent = {"role": rate.role.pk, "from_day": "2027-07-01", "rate_e4": 300_000, "source": "budget"}
    assert b"already exists" in client.post(add_page("crews_standardrate"), sent).content
    assert StandardRate.objects.count() == 1


def test_a_chain_rule_is_added_and_edited_by_its_own_verbs(client, administrator):
    cut, pull = build.MethodFactory(code="cut"), build.MethodFactory(code="hand-pull")
    facts = {"code": "a", "after": cut.pk, "species": "any", "purpose": "revisit", "method": pull.pk}
    sent = {**facts, "least_days": 30, "most_days": 90, "share": 0.5, "source": "invented"}
    assert client.post(add_page("planning_chainrule"), sent).status_code == 302
    rule = ChainRule.objects.get()
    assert client.post(page(rule), filled(client, page(rule), least_days=60)).status_code == 302
    assert list(Change.objects.order_by("id").values_list("verb", flat=True)) == ["chain_rule_add", "chain_rule_edit"]
    round_and_round = filled(client, page(rule), after=pull.pk, after_purpose="revisit")
    shown = client.post(page(rule), round_and_round, follow=True)
    assert "lead back to where they began" in shown.content.decode()
    assert ChainRule.objects.get().after == cut


def test_a_fund_of_a_season_is_added_and_edited_by_its_own_verbs(client, administrator):
    season, site = build.SeasonFactory(), build.SiteFactory()
    sent = {"season": season.pk, "code": "GRANT", "name": "Grant", "budget_cents": 500, "sites": [site.pk]}
    assert client.post(add_page("planning_seasonfund"), sent).status_code == 302
    fund = SeasonFund.objects.get()
    assert (list(fund.sites.all()), fund.version) == ([site], 1)
    assert client.post(page(fund), filled(client, page(fund), budget_cents=700, sites=[site.pk])).status_code == 302
    fund.refresh_from_db()
    assert (fund.budget_cents, fund.version) == (700, 2)
    assert set(Change.objects.values_list("verb", flat=True)) == {"season_fund_add", "season_fund_edit"}


def test_what_a_method_needs_is_kept_with_its_version(client, administrator):
    method, saw = build.MethodFactory(), build.EquipmentFactory()
    sent = {"method": method.pk, "equipment": saw.pk, "units_per_crew": 2}
    assert client.post(add_page("estimates_methodequipment"), sent).status_code == 302
    need = method.equipment_needs.get()
    assert client.post(page(need), filled(client, page(need), units_per_crew=1)).status_code == 302
    assert method.equipment_needs.get().units_per_crew == 1
    assert Change.objects.filter(verb="method_equipment_set").count() == 2
