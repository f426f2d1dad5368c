"""Notices that keep people out: up and down, each once."""

from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.facts import fact_known, fact_save
from orders.workorders.models import SignPosting


@writing()
def sign_posting_add(*, posting: SignPosting, stamp: Stamp) -> SignPosting:
    """A sign that is up, or down, already stays so by the first word of it."""
    said = SignPosting.objects.filter(sign=posting.sign, state=posting.state).first()
    return fact_known(posting) or said or fact_save(posting, stamp=stamp)
