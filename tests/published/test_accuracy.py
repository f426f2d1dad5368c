"""Published statements about accuracy and overruns."""

import math

import pytest

from estimating.accuracy import Judged, accuracy, geometric_bias, log_accuracy_ratio, rmse
from estimating.calibrate import ClosedOrder, Part, calibrate


@pytest.mark.parametrize(("predicted", "actual", "expected"), [(120, 100, 0.1823), (100, 120, -0.1823)])
def test_it_is_as_far_off_above_as_below(predicted, actual, expected):
    # Derived from Tofallis 2015, J. Oper. Res. Soc. 66:1352-1362: ln(predicted / actual) is symmetric, while the
    # absolute percentage errors of the same two are 20% and 16.7%.
    assert log_accuracy_ratio(predicted, actual) == pytest.approx(expected, abs=5e-5)


def test_it_fits_the_geometric_mean():
    # Tofallis, abstract arXiv 2105.05249: least squares on the log ratio estimates the geometric mean.
    actual = [1.0, 2.0, 8.0]
    constants = [1 + 0.001 * n for n in range(4_000)]
    best = min(constants, key=lambda c: sum(log_accuracy_ratio(c, a) ** 2 for a in actual))
    assert best == pytest.approx(16 ** (1 / 3), abs=1e-3)
    assert geometric_bias([1.0] * 3, actual) == pytest.approx(16 ** (1 / 3))


def test_it_does_not_choose_what_predicts_too_low():
    # The same abstract: the mean absolute percentage error chooses predictions that are too low; the log ratio not.
    actual = [1.0, 2.0, 8.0]
    by_percent = min((0.5, 1.0, 2.0, 2.52, 4.0), key=lambda c: sum(abs(c - a) / a for a in actual))
    by_log = min((0.5, 1.0, 2.0, 2.52, 4.0), key=lambda c: sum(log_accuracy_ratio(c, a) ** 2 for a in actual))
    assert by_percent < by_log == 2.52


OVERRUNS = (1.5, 2.4, 8.6)


def test_it_reports_overruns_of_one_and_a_half_to_nearly_nine_times():
    # McConnachie et al. 2012, Biol. Conserv. (abstract https://sasdghub.up.ac.za/article/hdl-handle-net-10019-1-113051):
    # actual cost 2.4 times the highest equivalent estimate, 1.5 in one catchment and 8.6 in another.
    found = accuracy([judged(str(ratio), 10, 10 * ratio) for ratio in OVERRUNS])
    assert found.orders == 3
    assert found.bias == pytest.approx(math.prod(OVERRUNS) ** (1 / 3))


def test_it_calibrates_on_such_overruns_too():
    part = (Part("cut", "shrub", 1.0),)
    orders = [ClosedOrder(f"{ratio} {n}", "crew", 10, 10 * ratio, part) for ratio in OVERRUNS for n in range(2)]
    found = calibrate(orders)
    assert len(found.weights) == 6
    assert found.overall
    assert 1.5 < found.overall.ratio < 8.6


def test_it_reports_its_error_in_hours_by_the_hectare():
    # "Impacts of Vegetation Abundance and Terrain Obstacles on Brushcutter Performance", North. J. Appl. For. 29(4),
    # 2012: a fitted time model is told by its RMSE in h/ha (4.3 h/ha, n = 91). The orders here are invented: a model
    # that is off by 4.3 h/ha on each of them has that RMSE.
    orders = [judged(str(n), 20 * ha, (20 + sign * 4.3) * ha, ha) for n, (ha, sign) in enumerate(((2, 1), (0.5, -1)))]
    assert accuracy(orders).rmse_hours_per_ha == pytest.approx(4.3)
    assert rmse([20, 20], [24.3, 15.7]) == pytest.approx(4.3)


def judged(order, estimated, actual, hectares=1.0):
    return Judged(order, estimated, estimated / 2, estimated * 2, actual, hectares * 10_000, {"method": "cut"})
