"""Who may mix and who may apply, with the reason either way."""

from datetime import date

import pytest

from orders.workorders.records.rules import Rules
from orders.workorders.who_may import Use, may_apply, may_mix, years_old
from tests import build

pytestmark = pytest.mark.django_db

DAY = date(2027, 2, 10)


@pytest.fixture
def site():
    return build.SiteFactory(jurisdiction=build.JurisdictionFactory(code="IL"))


@pytest.fixture
def caution():
    return build.ProductFactory(signal_word="Caution")


def use(site, there=()):
    profile = Rules.read().of(site.jurisdiction.code, DAY)
    return Use(site, DAY, profile, {person.pk for person in there})


def licensed(site, kind="certified-applicator", **facts):
    row = build.QualificationFactory(
        kind=build.QualificationKindFactory(code=kind), jurisdiction=site.jurisdiction, **facts
    )
    return row.person


def permit(site, product, **facts):
    volunteer = build.PersonFactory(person_type="volunteer")
    told = {"person": volunteer, "first_day": date(2027, 1, 5), **facts}
    row = build.VolunteerPermitFactory(**{"last_day": date(2027, 12, 31), **told})
    row.products.add(product)
    row.sites.add(site)
    return volunteer


def test_it_lets_the_certified_mix_and_apply(site, caution):
    person = licensed(site, number="IL-1")
    assert may_mix(person, use(site)).by == may_apply(person, use(site), [caution]).by == "certified"


@pytest.mark.parametrize("facts", [{"last_day": date(2027, 2, 9)}, {"first_day": date(2027, 2, 11)}])
def test_it_lets_nobody_with_a_license_of_other_days(site, caution, facts):
    person = licensed(site, **facts)
    assert not may_apply(person, use(site), [caution]).allowed


def test_it_lets_nobody_with_a_license_of_another_state(site, caution):
    person = licensed(build.SiteFactory(jurisdiction=build.JurisdictionFactory(code="KY")))
    found = may_mix(person, use(site))
    assert (found.allowed, found.why) == (False, ("Holds no license in IL on 2027-02-10.",))


def test_it_lets_a_technician_only_beside_a_certified_supervisor(site, caution):
    boss = licensed(site)
    helper = licensed(site, kind="registered-technician", supervised_by=boss)
    assert may_apply(helper, use(site, [boss, helper]), [caution]).by == "supervised"
    away = may_mix(helper, use(site, [helper]))
    assert (away.allowed, away.why) == (False, (f"Needs the supervisor there: {boss.name}.",))
    boss.qualifications.update(last_day=date(2027, 1, 31))
    assert not may_mix(helper, use(site, [boss])).allowed


def test_it_lets_a_volunteer_apply_within_the_permit_and_never_mix(site, caution):
    person = permit(site, caution)
    assert may_apply(person, use(site), [caution]).by == "permit"
    mixing = may_mix(person, use(site))
    assert (mixing.allowed, mixing.why[-1]) == (False, "A volunteer's permit lets nobody mix or load.")


def test_it_holds_a_volunteer_to_land_product_day_and_signal_word(site, caution):
    other_site, danger = build.SiteFactory(jurisdiction=site.jurisdiction), build.ProductFactory(signal_word="DANGER")
    on_other_land = permit(other_site, caution)
    with_other_product = permit(site, build.ProductFactory(signal_word="Caution"))
    too_strong = permit(site, danger)
    last_year = permit(site, caution, first_day=date(2026, 1, 5), last_day=date(2026, 12, 31))
    found = {
        "covers": may_apply(on_other_land, use(site), [caution]).why[0],
        "product": may_apply(with_other_product, use(site), [caution]).why[0],
        "word": may_apply(too_strong, use(site), [danger]).why[0],
    }
    assert found["covers"] == f"No permit covers {site.name} on 2027-02-10."
    assert found["product"] == f"No permit for {site.name} covers {caution.name}."
    assert found["word"] == f"{danger.name} has the signal word DANGER; volunteers may apply CAUTION."
    assert not may_apply(last_year, use(site), [caution]).allowed


def test_it_lets_no_volunteer_where_the_rules_do_not(caution):
    kentucky = build.SiteFactory(jurisdiction=build.JurisdictionFactory(code="KY"))
    person = permit(kentucky, caution)
    assert may_apply(person, use(kentucky), [caution]).why == ("The rules on record for KY let no volunteer apply.",)


def test_it_needs_no_permit_for_a_dye(site, caution):
    dye = build.ProductFactory(is_herbicide=False, signal_word="")
    assert may_apply(permit(site, caution), use(site), [caution, dye]).allowed


def test_it_lets_nobody_under_eighteen(site, caution):
    young = licensed(site)
    young.born_on = date(2009, 2, 11)
    assert may_apply(young, use(site), [caution]).why == (f"{young.name} is under 18.",)
    young.born_on = date(2009, 2, 10)
    assert may_apply(young, use(site), [caution]).allowed


def test_it_counts_years_by_the_birthday():
    born = date(2008, 2, 29)
    assert (years_old(born, date(2026, 2, 28)), years_old(born, date(2026, 3, 1))) == (17, 18)
