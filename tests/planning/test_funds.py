"""Funds of a season: who pays where and until when."""

from datetime import date

import pytest

from orders.common.errors import Invalid, VersionMismatch, WrongState
from orders.common.models import Change
from orders.planning.funds import (
    FundInUse,
    fund_names,
    fund_paying,
    prescription_fund_set,
    season_fund_add,
    season_fund_edit,
    season_fund_remove,
    season_funds,
)
from orders.planning.models import SeasonFund
from tests import build

pytestmark = pytest.mark.django_db
FIRST, LAST = date(2027, 2, 1), date(2027, 11, 30)


@pytest.fixture
def season():
    return build.SeasonFactory()


@pytest.fixture
def site():
    return build.SiteFactory(code="HOLLOW")


def fund(season, stamp, code="OPS", **more):
    return season_fund_add(season=season, code=code, name=code.title(), budget_cents=100_00, stamp=stamp, **more)


def asked(season, site, **more):
    patch = build.PatchFactory(site=site)
    return build.PrescriptionFactory(season=season, patch=patch, first_day=FIRST, last_day=LAST, **more)


def test_it_pays_at_its_sites_and_the_other_pays_for_the_rest(season, site, stamp):
    grant, rest = fund(season, stamp, "GRANT", sites=[site]), fund(season, stamp)
    funds = season_funds(season)
    assert fund_paying(site.pk, FIRST, LAST, funds).fund == grant
    assert fund_paying(build.SiteFactory().pk, FIRST, LAST, funds).fund == rest
    assert fund_names(season) == {"GRANT": "Grant", "OPS": "Ops"}


def test_it_cuts_a_window_to_the_days_of_the_fund_and_says_so(season, site, stamp):
    fund(season, stamp, "GRANT", sites=[site], last_day=date(2027, 9, 30))
    paying = fund_paying(site.pk, FIRST, LAST, season_funds(season))
    assert (paying.first_day, paying.last_day) == (FIRST, date(2027, 9, 30))
    assert paying.told == "Cut to the days that GRANT pays for."


def test_a_window_wholly_outside_is_paid_by_the_fund_for_the_rest(season, site, stamp):
    fund(season, stamp, "GRANT", sites=[site], last_day=date(2027, 1, 31))
    rest = fund(season, stamp)
    paying = fund_paying(site.pk, FIRST, LAST, season_funds(season))
    assert (paying.fund, paying.first_day, paying.last_day) == (rest, FIRST, LAST)
    assert paying.told == "GRANT does not pay on these days."


def test_nobody_pays_where_no_fund_is_for_it(season, site, stamp):
    fund(season, stamp, "GRANT", sites=[build.SiteFactory()])
    assert fund_paying(site.pk, FIRST, LAST, season_funds(season)).fund is None


def test_a_new_fund_pays_for_open_work_that_had_none(season, site, stamp):
    row, done = asked(season, site), asked(season, site, state="done")
    grant = fund(season, stamp, "GRANT", sites=[site], last_day=date(2027, 9, 30))
    for one in (row, done):
        one.refresh_from_db()
    assert (row.fund, row.last_day, row.version) == (grant, date(2027, 9, 30), 2)
    assert row.window_because.endswith("Cut to the days that GRANT pays for.")
    assert done.fund is None
    assert Change.objects.filter(verb="prescription_fund_set", entity_id=row.public_id).count() == 1


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"code": "GRANT", "named": True}, "code"),
        ({"named": True}, "sites"),
        ({}, ""),
        ({"first_day": LAST, "last_day": FIRST, "elsewhere": True}, "last_day"),
    ],
)
def test_it_names_what_is_wrong_and_adds_nothing(season, site, stamp, more, field):
    fund(season, stamp, "GRANT", sites=[site])
    more = dict(more)
    named, elsewhere = more.pop("named", False), more.pop("elsewhere", False)
    sites = [site] if named else [build.SiteFactory()] if elsewhere else []
    code = more.pop("code", "OTHER")
    if not field:
        assert fund(season, stamp, code, sites=sites).pk
        return
    with pytest.raises(Invalid) as refused:
        fund(season, stamp, code, sites=sites, **more)
    assert field in [error.field for error in refused.value.errors]
    assert SeasonFund.objects.count() == 1


def test_only_one_fund_pays_for_the_rest(season, stamp):
    fund(season, stamp)
    with pytest.raises(Invalid) as refused:
        fund(season, stamp, "STEW")
    assert [error.field for error in refused.value.errors] == ["sites"]


def test_an_edit_gives_out_anew_what_it_paid(season, site, stamp):
    grant, rest = fund(season, stamp, "GRANT", sites=[site]), fund(season, stamp)
    row = asked(season, site, fund=grant)
    other = build.SiteFactory()
    season_fund_edit(fund=grant, values={"sites": [other], "budget_cents": 5}, expected=1, stamp=stamp)
    row.refresh_from_db()
    assert (row.fund, list(grant.sites.all()), grant.budget_cents) == (rest, [other], 5)
    with pytest.raises(VersionMismatch):
        season_fund_edit(fund=grant, values={"name": "Old"}, expected=1, stamp=stamp)


def test_an_edit_refuses_a_field_that_stays(season, stamp):
    with pytest.raises(Invalid) as refused:
        season_fund_edit(fund=fund(season, stamp), values={"code": "X"}, expected=1, stamp=stamp)
    assert [error.field for error in refused.value.errors] == ["code"]


def test_a_fund_that_is_removed_leaves_its_work_to_the_rest(season, site, stamp):
    grant, rest = fund(season, stamp, "GRANT", sites=[site]), fund(season, stamp)
    row = asked(season, site, fund=grant)
    with pytest.raises(Invalid):
        season_fund_remove(fund=grant, expected=1, stamp=stamp)
    season_fund_remove(fund=grant, expected=1, stamp=stamp.because("Withdrawn."))
    row.refresh_from_db()
    assert (row.fund, list(SeasonFund.objects.all())) == (rest, [rest])


def test_a_fund_that_pays_for_ordered_work_stays(season, site, stamp):
    grant = fund(season, stamp, "GRANT", sites=[site])
    asked(season, site, fund=grant, state="ordered")
    with pytest.raises(FundInUse):
        season_fund_remove(fund=grant, expected=1, stamp=stamp.because("Withdrawn."))


def test_a_coordinator_says_by_hand_who_pays(season, site, stamp):
    grant = fund(season, stamp, "GRANT", sites=[build.SiteFactory()], last_day=date(2027, 6, 30))
    row = asked(season, site)
    prescription_fund_set(prescription=row, fund=grant, stamp=stamp, expected_version=1)
    assert (row.fund, row.last_day) == (grant, date(2027, 6, 30))
    prescription_fund_set(prescription=row, fund=None, stamp=stamp)
    assert row.fund is None


def test_it_refuses_a_fund_that_cannot_pay(season, site, stamp):
    late = fund(season, stamp, "LATE", sites=[site], first_day=date(2027, 12, 1))
    foreign = fund(build.SeasonFactory(), stamp)
    row, ordered = asked(season, site), asked(season, site, state="ordered")
    for other in (late, foreign):
        with pytest.raises(Invalid) as refused:
            prescription_fund_set(prescription=row, fund=other, stamp=stamp)
        assert [error.field for error in refused.value.errors] == ["fund"]
    with pytest.raises(WrongState):
        prescription_fund_set(prescription=ordered, fund=None, stamp=stamp)
