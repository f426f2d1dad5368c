"""What stands on a file beside its figures: whose program, who asked, when, and how the ledger was last proved."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings

from orders.common.models import User
from orders.costs.models import Proof


@dataclass(frozen=True)
class About:
    program: str
    made_for: str
    made_at: datetime  # by the program's clock
    proof: str

    @property
    def made(self) -> str:
        return f"{self.made_at:%Y-%m-%d %H:%M %Z} for {self.made_for}"


def about_of(asked_by: User | None, at: datetime) -> About:
    name = "the program" if asked_by is None else asked_by.get_full_name() or asked_by.get_username()
    return About(settings.PROGRAM_NAME, name, at.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)), proof_words())


def proof_words() -> str:
    """Of the latest proof of the ledger."""
    proof = Proof.objects.order_by("-id").first()
    if proof is None:
        return "The ledger has not been proved yet."
    at = proof.ran_at.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE))
    found = "all checks hold" if proof.is_good else "NOT ALL CHECKS HOLD"
    return f"The ledger was last proved {at:%Y-%m-%d %H:%M %Z}: {found}, {proof.rows_count} rows."
