"""All cards, the most pressing first, as one reader sees them."""

from dataclasses import dataclass

from orders.reports.today import field_cards, office_cards, season_cards
from orders.reports.today.cards import Card, Reader, Waiting

FIRST = ("overdue", "held", "failed_runs", "proof")
CARDS = tuple(
    sorted((*field_cards.CARDS, *season_cards.CARDS, *office_cards.CARDS), key=lambda card: card.code not in FIRST)
)


@dataclass(frozen=True)
class Shown:
    """A card of the reader's roles; without `waiting` there is nothing."""

    card: Card
    waiting: Waiting | None

    @property
    def words(self) -> str:
        return self.card.words(self.waiting.count if self.waiting else 0)


def cards_found(reader: Reader) -> list[Shown]:
    opened = [card for card in CARDS if reader.actor.has_role(*card.roles)]
    return [Shown(card, card.find(reader)) for card in opened]
