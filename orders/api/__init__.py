"""The REST API. One resource a file, its shapes above its endpoints; every address is in urls.py.

An endpoint's method loads, authorizes, makes one domain call and returns the row: operations.py says what it takes and
gives, and does the rest (checks the body, translates the answer, ETags, Idempotency-Keys, the description).

To add one: a class with an `endpoint` name in its resource's file, its path in urls.py, its row in permissions.TABLE,
and a list also in tests/api/lists.py. The tests fail until all of them are there.
"""
