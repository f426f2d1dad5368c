"""Simulated seasons of closed orders by crews whose true rates are known."""

import math
from dataclasses import dataclass

import numpy as np

from estimating.calibrate import ClosedOrder, Part


@dataclass
class Simulated:
    """`method`, `form`, `crew` number each order's groups; the effects are logs."""

    orders: list[ClosedOrder]
    mu: float
    methods: np.ndarray
    forms: np.ndarray
    crews: np.ndarray
    method: np.ndarray
    form: np.ndarray
    crew: np.ndarray

    @property
    def crew_shares(self):
        return np.bincount(self.crew, minlength=len(self.crews)) / len(self.crew)

    def true_ratio(self, method, form):
        """By the crews as they worked."""
        return math.exp(self.mu + self.methods[method] + self.forms[form] + self.crew_shares @ self.crews)


def simulate(seed, *, orders=60, methods=5, forms=2, crews=4, between=0.3, order_sd=0.4, mu=0.1):
    random = np.random.default_rng(seed)
    effects = [random.normal(0, sd, n) for sd, n in ((between, methods), (between / 2, forms), (between / 2, crews))]
    groups = [random.integers(0, n, orders) for n in (methods, forms, crews)]
    logs = mu + sum(effect[group] for effect, group in zip(effects, groups, strict=True))
    logs = logs + random.normal(0, order_sd, orders)
    hours = random.lognormal(3, 0.8, orders)
    closed = [order(n, logs[n], hours[n], *(int(group[n]) for group in groups)) for n in range(orders)]
    return Simulated(closed, mu, *effects, *groups)


def order(number, log_ratio, hours=20.0, method=0, form=0, crew=0):
    part = Part(f"method {method}", f"form {form}", 1.0)
    return ClosedOrder(str(number), f"crew {crew}", hours, hours * math.exp(log_ratio), (part,), 0.35, 0.1)


def indicators(group, levels):
    return np.eye(levels)[group]
