"""Allowances on the job and on the shift are two things, three-point estimates are no triangles, errors are ratios."""

import pytest

from estimating.accuracy import geometric_bias, log_accuracy_ratio
from estimating.crewday import standard_time
from estimating.errors import UnknownCode
from estimating.spread import pert_mean_sd, triangular_mean


def test_it_takes_20_percent_of_the_job_to_28_8_seconds():
    # Univ. of Nairobi exercise, https://indextestingapp.uonbi.ac.ke/preguntia/14003372: mean 20 s, rating 120%.
    observed = [27, 19, 20, 21, 13]
    normal = sum(observed) / len(observed) * 1.20
    assert standard_time(normal, 0.20, "job") == pytest.approx(28.8)


def test_it_takes_20_percent_of_the_shift_to_30_seconds():
    # Derived: 24 / (1 - 0.20); the trap in the same exercise.
    assert standard_time(24, 0.20, "shift") == pytest.approx(30.0)


def test_it_wants_to_know_the_basis():
    with pytest.raises(UnknownCode, match="job"):
        standard_time(24, 0.20, "")


@pytest.mark.parametrize(("points", "mean", "sd"), [((4, 6, 12), 6.667, 1.333), ((5, 8, 14), 8.5, 1.5)])
def test_it_takes_the_three_point_examples(points, mean, sd):
    # calhub.xyz prints 6.67 and 1.33 for the first.
    assert pert_mean_sd(*points) == pytest.approx((mean, sd), abs=0.001)


def test_it_does_not_take_a_triangle_for_a_three_point_mean():
    # Mean of a triangular distribution: the sum of the three over 3.
    assert triangular_mean(4, 6, 12) == pytest.approx(7.333, abs=0.001)


def test_it_counts_too_much_and_too_little_alike():
    # A1: Tofallis 2015, J. Oper. Res. Soc. 66:1352-1362, https://arxiv.org/abs/2105.05249; values derived.
    assert log_accuracy_ratio(120, 100) == pytest.approx(0.1823, abs=0.00005)
    assert log_accuracy_ratio(100, 120) == pytest.approx(-0.1823, abs=0.00005)


def test_it_reports_bias_as_the_geometric_mean_of_the_ratios():
    # A2: abstract, https://arxiv.org/abs/2105.05249: least squares on the log ratio estimates the geometric mean.
    assert geometric_bias([100, 100], [200, 50]) == pytest.approx(1)
    assert geometric_bias([100, 100], [240, 150]) == pytest.approx((2.4 * 1.5) ** 0.5)
