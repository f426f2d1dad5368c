"""Crews and people."""

from datetime import date

import factory

from orders.crews import models as crews
from tests.build.base import Build
from tests.build.places import JurisdictionFactory


class LaborRoleFactory(Build):
    class Meta:
        model = crews.LaborRole
        django_get_or_create = ["code"]

    code = "crew-member"
    name = factory.LazyAttribute(lambda role: role.code.replace("-", " ").capitalize())


class StandardRateFactory(Build):
    class Meta:
        model = crews.StandardRate

    role = factory.SubFactory(LaborRoleFactory)
    from_day = date(2026, 1, 1)
    rate_e4 = 285_000
    source = "invented"


class PersonFactory(Build):
    class Meta:
        model = crews.Person

    name = factory.Sequence(lambda n: f"Person {n}")
    person_type = "staff"
    role = factory.SubFactory(LaborRoleFactory)


class QualificationKindFactory(Build):
    class Meta:
        model = crews.QualificationKind
        django_get_or_create = ["code"]

    code = "certified-applicator"
    name = factory.LazyAttribute(lambda kind: kind.code.replace("-", " ").capitalize())
    is_license = True


class QualificationFactory(Build):
    class Meta:
        model = crews.Qualification

    person = factory.SubFactory(PersonFactory)
    kind = factory.SubFactory(QualificationKindFactory)
    jurisdiction = factory.SubFactory(JurisdictionFactory)
    first_day = date(2026, 1, 1)
    last_day = date(2027, 12, 31)


class CrewFactory(Build):
    """`people=3` members, the first of them the lead; the lead holds the kinds named in `qualifications`."""

    class Meta:
        model = crews.Crew

    name = factory.Sequence(lambda n: f"Crew {n}")

    @factory.post_generation
    def people(self, create, extracted, **kwargs):
        for number in range(extracted or 0):
            CrewMembershipFactory(crew=self, is_lead=number == 0)

    @factory.post_generation
    def qualifications(self, create, extracted, **kwargs):
        for code in extracted or []:
            lead = self.memberships.order_by("-is_lead", "id")[0].person
            QualificationFactory(person=lead, kind=QualificationKindFactory(code=code))


class CrewMembershipFactory(Build):
    class Meta:
        model = crews.CrewMembership

    crew = factory.SubFactory(CrewFactory)
    person = factory.SubFactory(PersonFactory)
    first_day = date(2026, 1, 1)


class AbsenceFactory(Build):
    """Of a new crew, unless a crew or a person is named."""

    class Meta:
        model = crews.Absence

    crew = factory.Maybe("person", None, factory.SubFactory(CrewFactory))
    person = None
    first_day = date(2027, 7, 5)
    last_day = date(2027, 7, 5)
    why = "Holiday"
