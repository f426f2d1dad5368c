"""An application record that was signed on a tablet."""

from orders.bodies.records import ApplicationRecordIn
from orders.commands.doubts.closing import record_doubts
from orders.commands.heard import Heard, hears
from orders.commands.lookups import awaited
from orders.commands.raising import Raiser
from orders.common.errors import Invalid
from orders.workorders.models import Application
from orders.workorders.records.naming import signature_named
from orders.workorders.records.signing import NothingApplied, record_amend, record_of, record_sign


@hears("application-record", ApplicationRecordIn)
def application_record_heard(heard: Heard) -> None:
    """The first of its uses is signed; a later one with a reason amends the one that stands, whoever signed that. The
    mix and its uses may still come from other tablets."""
    try:
        _sign(heard)
    except (Invalid, NothingApplied) as no:
        no.data |= awaited(heard.body["batch"])
        raise


def _sign(heard: Heard) -> None:
    signature = signature_named(heard.body, at=heard.happened_at)
    reason = heard.body.get("reason") or ""
    standing = record_of(signature)
    if standing is not None and reason:
        record_amend(record=standing, signature=signature, reason=reason, stamp=heard.stamp)
    else:
        record_sign(signature=signature, stamp=heard.stamp)
    uses = {name: getattr(signature, name) for name in ("batch", "site", "work_date", "responsible")}
    for use in Application.objects.filter(**uses).select_related("order").order_by("id"):
        record_doubts(Raiser(heard, order=use.order), use.order)
