"""What waits for a reader today, by role."""

from orders.reports.today.board import CARDS, Shown, cards_found
from orders.reports.today.cards import Card, Line, Reader, Waiting

__all__ = ["CARDS", "Card", "Line", "Reader", "Shown", "Waiting", "cards_found"]
