"""Tablets and what they send; days outside."""

import hashlib
from datetime import date, timedelta

import factory

from orders.field import models as field
from tests.build.base import NOW, WORK_DAY, WORKED_AT, Build, FactFactory, UserFactory, square
from tests.build.people import CrewFactory, PersonFactory
from tests.build.places import SiteFactory, SpeciesFactory
from tests.build.season import WorkOrderFactory


class DeviceFactory(Build):
    """`token="..."` is what its requests carry; `users=[...]` may use it."""

    class Meta:
        model = field.Device

    class Params:
        token = factory.Sequence(lambda n: f"token-{n}")

    name = factory.Sequence(lambda n: f"Tablet {n}")
    token_sha256 = factory.LazyAttribute(lambda device: hashlib.sha256(device.token.encode()).hexdigest())
    enrolled_at = NOW
    expires_on = date(2027, 12, 31)

    @factory.post_generation
    def users(self, create, extracted, **kwargs):
        for user in extracted or []:
            DeviceUserFactory(device=self, user=user)


class DeviceUserFactory(Build):
    class Meta:
        model = field.DeviceUser

    device = factory.SubFactory(DeviceFactory)
    user = factory.SubFactory(UserFactory, roles=["crew_lead"])
    added_at = NOW


class EnrollmentCodeFactory(Build):
    class Meta:
        model = field.EnrollmentCode

    code_sha256 = factory.Sequence(lambda n: f"{n:064x}")
    user = factory.SubFactory(UserFactory, roles=["crew_lead"])
    made_at = NOW
    expires_at = factory.LazyAttribute(lambda code: code.made_at + timedelta(days=1))


class CommandFactory(Build):
    class Meta:
        model = field.Command

    device = factory.SubFactory(DeviceFactory)
    seq = factory.Sequence(lambda n: n + 1)
    user = factory.SubFactory(UserFactory, roles=["crew_lead"])
    kind = "check-in"
    raw = "{}"
    sha256 = factory.LazyAttribute(lambda command: hashlib.sha256(command.raw.encode()).hexdigest())
    happened_at = WORKED_AT
    received_at = WORKED_AT


class FlagFactory(Build):
    class Meta:
        model = field.Flag

    key = factory.Sequence(lambda n: f"flag-{n}")
    kind = "order_void"
    severity = "settle"
    title = "Work was stated on an order that is void"
    for_roles = factory.LazyFunction(lambda: ["coordinator"])
    raised_at = WORKED_AT


class FieldPolicyFactory(Build):
    class Meta:
        model = field.FieldPolicy


class CheckInFactory(FactFactory):
    """`people=[...]` are the people who came along."""

    class Meta:
        model = field.CheckIn

    crew = factory.SubFactory(CrewFactory, people=3)
    site = factory.SubFactory(SiteFactory)
    work_date = WORK_DAY
    back_by = WORKED_AT + timedelta(hours=3)

    @factory.post_generation
    def people(self, create, extracted, **kwargs):
        for person in extracted or []:
            CheckInPersonFactory(check_in=self, person=person)


class CheckInPersonFactory(Build):
    class Meta:
        model = field.CheckInPerson

    check_in = factory.SubFactory(CheckInFactory)
    person = factory.SubFactory(PersonFactory)


class CheckInStepFactory(FactFactory):
    class Meta:
        model = field.CheckInStep

    check_in = factory.SubFactory(CheckInFactory)
    kind = "out"


class OverdueAlertFactory(Build):
    class Meta:
        model = field.OverdueAlert

    check_in = factory.SubFactory(CheckInFactory)
    back_by = factory.SelfAttribute("check_in.back_by")
    raised_at = factory.LazyAttribute(lambda alert: alert.back_by + timedelta(minutes=30))


class BriefingFactory(FactFactory):
    class Meta:
        model = field.Briefing

    crew = factory.SubFactory(CrewFactory, people=3)
    site = factory.SubFactory(SiteFactory)
    work_date = WORK_DAY
    led_by = factory.SubFactory(PersonFactory)


class DaySheetFactory(FactFactory):
    """With one line of work; `lines=[{...}]` gives others."""

    class Meta:
        model = field.DaySheet

    crew = factory.SubFactory(CrewFactory, people=3)
    person = factory.SubFactory(PersonFactory)
    work_date = WORK_DAY
    revision = 1
    rule = "minutes"
    minutes = 480
    confirmed_by = "C. Lead"

    @factory.post_generation
    def lines(self, create, extracted, **kwargs):
        for facts in [{}] if extracted is None else extracted:
            DayLineFactory(sheet=self, **facts)


class DayLineFactory(Build):
    class Meta:
        model = field.DayLine

    sheet = factory.SubFactory(DaySheetFactory, lines=[])
    code = "work"
    order = factory.SubFactory(WorkOrderFactory)
    minutes = 480
    origin = "timer"


class DayShareFactory(Build):
    class Meta:
        model = field.DayShare

    line = factory.SubFactory(DayLineFactory, code="drive", order=None, minutes=60)
    order = factory.SubFactory(WorkOrderFactory)
    minutes = 60


class DetectionFactory(FactFactory):
    class Meta:
        model = field.Detection

    site = factory.SubFactory(SiteFactory)
    species = factory.SubFactory(SpeciesFactory)
    growth_form = "ground cover"
    geometry = factory.LazyFunction(square)
