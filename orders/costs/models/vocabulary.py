"""The words that rows of money are sorted by: categories of cost, accounts, and the books that they stand in."""

CATEGORIES = [
    ("labor", "Labor"),
    ("premium", "Overtime premium"),
    ("material", "Material"),
    ("equipment", "Equipment"),
    ("mileage", "Mileage"),
    ("contract", "Contract"),
    ("other", "Other"),
    ("indirect", "Indirect"),
]

# Reports of cost sum the first book alone; the others settle what costs left open, or stand beside them.
BOOKS = [("cost", "Costs"), ("clearing", "Settlements"), ("match", "In-kind match")]

COST_ACCOUNTS = [(f"cost-{code}", name) for code, name in CATEGORIES]
CLEARING_ACCOUNTS = [
    ("clear-payroll", "Payroll clearing"),
    ("clear-stock", "Stock on hand"),
    ("clear-payables", "Bills to pay"),
    ("clear-equipment", "Equipment recovery"),
    ("clear-mileage", "Mileage recovery"),
    ("clear-indirect", "Indirect recovery"),
    ("clear-variance", "Payroll difference"),
]
FUND_ACCOUNTS = [("fund", "Drawn from the fund")]
MATCH_ACCOUNTS = [("match-used", "In-kind work used"), ("match-given", "In-kind work given")]
ACCOUNTS = [*COST_ACCOUNTS, *CLEARING_ACCOUNTS, *FUND_ACCOUNTS, *MATCH_ACCOUNTS]

# what a cost of each category is owed to until it is settled
CLEARED_THROUGH = {
    "labor": "clear-payroll",
    "premium": "clear-payroll",
    "material": "clear-stock",
    "equipment": "clear-equipment",
    "mileage": "clear-mileage",
    "contract": "clear-payables",
    "other": "clear-payables",
    "indirect": "clear-indirect",
}
