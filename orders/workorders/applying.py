"""A mix put on a patch."""

from collections.abc import Sequence

from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Person
from orders.workorders.facts import fact_known, fact_save
from orders.workorders.models import Application, ApplicationPerson


@writing()
def application_add(*, application: Application, people: Sequence[Person], stamp: Stamp) -> Application:
    """`people` held the sprayer or the brush. A correction replaces the use that it names."""
    if known := fact_known(application):
        return known
    if application.at < application.started_at:
        raise Invalid("The use cannot be read.", [FieldError("ended_at", "is before the start")])
    struck = application.replaces
    if struck is not None and Application.objects.filter(replaces=struck).exists():
        raise WrongState(f"{struck} was corrected already.")
    fact_save(application, stamp=stamp)
    held = {person.pk: person for person in people}.values()
    ApplicationPerson.objects.bulk_create(ApplicationPerson(application=application, person=one) for one in held)
    return application
