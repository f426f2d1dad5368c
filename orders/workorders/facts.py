"""Adding what came from the field: once, whatever is sent again."""

from typing import TypeVar

from orders.common.stamp import Stamp
from orders.workorders.models import FieldFact

Fact = TypeVar("Fact", bound=FieldFact)


def fact_known(fact: Fact) -> Fact | None:
    """The row that stands under the same id: the tablet sent it again."""
    return type(fact)._default_manager.filter(public_id=fact.public_id).first()


def fact_save(fact: Fact, *, stamp: Stamp) -> Fact:
    """`fact` is filled but for who sent it and when it was heard. Call inside `writing()`."""
    fact.received_at, fact.by = stamp.at, stamp.by
    fact.save(force_insert=True)
    return fact
