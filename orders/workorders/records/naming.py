"""A signature from a body whose ids are public: what is not known here is named, each of them."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from orders.common.errors import FieldError, Invalid
from orders.common.models import PublicIdModel
from orders.crews.models import Person
from orders.sites.models import Site
from orders.workorders.models import MixBatch
from orders.workorders.records.signing import Signature

Row = TypeVar("Row", bound=PublicIdModel)


def signature_named(body: Mapping[str, Any], *, at: datetime) -> Signature:
    errors: list[FieldError] = []

    def named(model: type[Row], name: str) -> Any:
        found = model._default_manager.filter(public_id=body[name]).first()
        if found is None:
            errors.append(FieldError(name, "is not known here", code="unknown"))
        return found

    batch, site, person = named(MixBatch, "batch"), named(Site, "site"), named(Person, "responsible")
    if errors:
        raise Invalid("The record names what is not known here.", errors)
    own_id: UUID | None = body.get("id")
    return Signature(batch, site, body["work_date"], person, body["values"], body["signed_by"], at, own_id)
