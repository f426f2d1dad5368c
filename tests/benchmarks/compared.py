"""The program's figures beside those of the hand-written reference."""

import numpy as np

RELATIVE = 1e-9
# An amount within a billionth of half a cent may be rounded up by one and down by the other; so rare must that be.
FELL_OTHERWISE = 1e-5


def ours(result):
    """The program's figures under the reference's names, each [method, patch]."""
    time, money, goods, pace = result.time, result.money, result.materials, result.pace
    found = {
        "standard": pace.standard_person_hours,
        "hours": result.hours.likely,
        "low": result.hours.low,
        "high": result.hours.high,
        "mean": result.hours.mean,
        "shared": result.shared_log_sd,
        "own": result.own_log_sd,
        "survey": result.survey_log_sd,
        "crew_days": time.crew_days,
        "paid": time.paid_person_hours,
        "volume_l": goods.spray_volume_l,
        "loads": goods.tank_loads,
        "area_m2": goods.treated_area_m2,
        "debris_m3": goods.debris_m3,
        "bags": goods.bags,
        "fuel_l": goods.fuel_l,
        "blades": goods.blades,
        "worked_m2": pace.worked_area_m2,
        "crowding": pace.crowding,
        "notes": result.notes,
        "low_c_cents": money.low_cents,
        "high_c_cents": money.high_cents,
        "mean_c_cents": money.mean_cents,
    }
    kinds = ("labor", "material", "mileage", "equipment", "total", "contingency", "contract")
    found |= {f"{kind}_cents": getattr(money, f"{kind}_cents") for kind in kinds}
    found |= goods.product_l
    return {name: values.reshape(len(result.jobs.methods), -1) for name, values in found.items()}


def differences(result, reference):
    """The largest relative difference of each figure, and of the hours by step; a missing figure is missing in both."""
    figures, blocks = reference
    found = ours(result)
    assert set(found) == set(figures)
    apart = {name: apart_by(_same_cent(name, found[name], figures[name]), figures[name]) for name in figures}
    steps = [apart_by(block.hours.T, hours) for block, hours in zip(result.blocks, blocks, strict=True)]
    return apart | {"step hours": max(steps)}


def _same_cent(name, one, other):
    """Amounts of money that lie one cent apart count as the same, while that is rare."""
    if not name.endswith("_cents"):
        return one
    fell = np.abs(one - other) == 1
    assert fell.mean() <= FELL_OTHERWISE
    return np.where(fell, other, one)


def apart_by(one, other):
    """Largest relative difference, 0 where both are missing; infinite where only one is."""
    one, other = np.asarray(one, float), np.asarray(other, float)
    if (np.isnan(one) != np.isnan(other)).any():
        return np.inf
    scale = np.maximum(np.abs(one), np.abs(other))
    apart = np.abs(one - other) / np.where(scale > 0, scale, 1.0)
    return float(np.nan_to_num(apart).max(initial=0.0))
