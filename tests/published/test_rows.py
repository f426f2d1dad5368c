"""Each worked example of the facts that was found in a source, or derived from one, is asserted under its own id."""

from tests.published import test_mixing, test_sprayer_calibration

EXAMPLES = (*test_sprayer_calibration.EXAMPLES, *test_mixing.EXAMPLES)
# W5, W9, W12, W16, W20 and W21 are no rows of the table.
FOUND = {f"W{number}" for number in range(1, 27)} - {"W5", "W9", "W12", "W16", "W20", "W21"}


def test_it_asserts_every_worked_example():
    assert FOUND - {example.row for example in EXAMPLES} == set()


def test_it_gives_every_example_one_row_and_a_source():
    rows = [example.row for example in EXAMPLES]
    assert len(rows) == len(set(rows))
    assert all(example.source for example in EXAMPLES)
