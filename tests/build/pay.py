"""Rules of pay and overtime, comp time and match."""

from datetime import date

import factory

from orders.costs import models as costs
from tests.build.base import Build
from tests.build.people import LaborRoleFactory, PersonFactory
from tests.build.places import JurisdictionFactory


class PayPolicyFactory(Build):
    class Meta:
        model = costs.PayPolicy

    from_day = date(2026, 1, 4)
    source = "Handbook of the program"


class OvertimeRuleFactory(Build):
    class Meta:
        model = costs.OvertimeRule

    jurisdiction = factory.SubFactory(JurisdictionFactory)
    from_day = date(2026, 1, 1)
    day_minutes = 480
    source = "An invented statute"


class CompTimeAgreementFactory(Build):
    class Meta:
        model = costs.CompTimeAgreement

    person = factory.SubFactory(PersonFactory)
    first_day = date(2026, 1, 4)
    reference = "Letter in the personnel file"


class MatchRateFactory(Build):
    class Meta:
        model = costs.MatchRate

    person_type = "volunteer"
    role = factory.SubFactory(LaborRoleFactory)
    from_day = date(2026, 1, 1)
    rate_e4 = 172_500
    fringe_e4 = 900
    source = "What the program pays for such work"
