"""The words of the ledger's own lists, as (code, name), for whoever may not read its tables."""

from orders.costs.models import ACCOUNTS, BOOKS, CATEGORIES

ACCOUNT_WORDS = list(ACCOUNTS)
BOOK_WORDS = list(BOOKS)
CATEGORY_WORDS = list(CATEGORIES)
