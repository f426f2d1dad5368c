"""Published answers about indirect cost."""

import pytest

from estimating.indirect import BaseLine, indirect_cents, mtdc_cents

DIRECT = [BaseLine("labor", 300_000_00), BaseLine("contract", 200_000_00, subaward="S-1")]


@pytest.mark.parametrize(
    ("cap_cents", "rate_e4", "base_cents", "cents"),
    [
        # casrai.org: direct 500,000 with one subaward of 200,000, cap 25,000: base 325,000; the 10% are computed
        (25_000_00, 1_000, 325_000_00, 32_500_00),
        # computed with the cap of 50,000 and the 15% of 2 CFR 200.414(f)
        (50_000_00, 1_500, 350_000_00, 52_500_00),
    ],
)
def test_it_caps_a_subaward(cap_cents, rate_e4, base_cents, cents):
    base = mtdc_cents(DIRECT, subaward_cap_cents=cap_cents, equipment_threshold_cents=10_000_00)
    assert (base, indirect_cents(base, rate_e4)) == (base_cents, cents)
