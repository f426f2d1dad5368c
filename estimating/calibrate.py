"""What closed orders teach about the rates: actual over estimated hours, by method, growth form and crew.

    y_i = ln(actual_i / estimated_i) = mu + u[method] + v[growth form] + w[crew] + e_i

u, v, w and e are normal with spreads of their own (`mixed.py`): a method with few orders leans on the others, one with
many stands for itself. An order of several methods or forms belongs to each by its share of the estimated hours. Means
are of logs, so that a ratio is a geometric mean (twice as long and half as long cancel out).

One wild order is data: it keeps a weight min(1, 1.5 sigma / its distance), which is shown, and pulls no further than
1.5 sigma. It is never left out.

A ratio holds for the program's crews in the shares in which they worked. Its interval (80%) averages over what the
spreads might be. Where there is too little evidence that is said, and no rate is changed for it.

Known limit: an order of several patches is compared with the sum of their likely hours; where the patches' errors are
independent the middle of such a total lies up to e^(s^2/2) above that sum (s: own log spread), so that the ratio of
many-patch orders comes out a little high.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray
from estimating.errors import InvalidFact
from estimating.mixed import Known, Posterior, huber_inflation, posterior, reml, robust_weights

LEVEL = 0.80
CLIP = 1.5  # standard deviations beyond which an order is given less weight; Huber's usual value (from memory)
WILD_WEIGHT = 0.6  # an order that keeps less than this is named as wild
# From how much evidence a ratio is acted on. The program's own rule, tunable.
FEWEST_ORDERS = 5  # for the whole, and for a method
FEWEST_OF_A_FORM = 2  # for a growth form of a method that has enough
WIDEST_INTERVAL = 2.0  # high over low
METHOD, FORM, CREW = range(3)


@dataclass(frozen=True)
class Part:
    """A method's work on one growth form, and its share of an order's estimated hours."""

    method: str
    growth_form: str
    share: float


@dataclass(frozen=True)
class ClosedOrder:
    """One closed order: person-hours estimated and worked on the same basis, and what the hours went to.

    `own_log_sd` and `survey_log_sd` are the estimate's own spread without the survey's part, and that part.
    """

    order: str
    crew: str
    estimated_hours: float
    actual_hours: float
    parts: tuple[Part, ...]
    own_log_sd: float = 0.0
    survey_log_sd: float = 0.0

    @property
    def log_ratio(self) -> float:
        """ln(actual / estimated)."""
        return math.log(self.actual_hours / self.estimated_hours)

    def share(self, wanted: Callable[[Part], bool]) -> float:
        """How much of the order is of a kind, 0 to 1."""
        return sum(part.share for part in self.parts if wanted(part))


@dataclass(frozen=True)
class Ratio:
    """Actual over estimated hours of one kind of work. `worth` counts orders by their shares; `orders` are behind it.

    `next_low` to `next_high` holds the ratio of one more order with the same chance. Empty names mean all.
    """

    method: str
    growth_form: str
    crew: str
    ratio: float
    low: float
    high: float
    log_sd: float
    next_low: float
    next_high: float
    worth: float
    orders: tuple[str, ...]
    enough: bool
    reason: str


@dataclass(frozen=True)
class Weighed:
    """What an order said and how far it was believed."""

    order: str
    ratio: float
    weight: float
    wild: bool


@dataclass(frozen=True)
class Spreads:
    """Log standard deviations: between methods, forms and crews, and of one order (restricted maximum likelihood);
    `next_order` is that of one more order by any of the crews as they worked."""

    methods: float
    forms: float
    crews: float
    order: float
    next_order: float


@dataclass(frozen=True)
class Calibration:
    """What the orders say, overall first. Without enough orders there is `because` and nothing else."""

    level: float
    enough: bool
    because: str
    overall: Ratio | None
    methods: tuple[Ratio, ...]
    forms: tuple[Ratio, ...]
    crews: tuple[Ratio, ...]
    weights: tuple[Weighed, ...]
    spreads: Spreads | None
    own_spread_factor: float

    def ratio(self, method: str, growth_form: str = "") -> Ratio | None:
        """The ratio that a rate of a method (for a growth form) is to be changed by; None: not enough evidence."""
        rows = self.forms if growth_form else self.methods
        found = (row for row in rows if (row.method, row.growth_form) == (method, growth_form) and row.enough)
        return next(found, None)


def _check(orders: Sequence[ClosedOrder]) -> None:
    for row, order in enumerate(orders):
        for name in ("estimated_hours", "actual_hours"):
            hours = getattr(order, name)
            if not (math.isfinite(hours) and hours > 0):
                raise InvalidFact("must be finite and above 0", name, row)
        if any(part.share < 0 for part in order.parts) or abs(order.share(lambda _: True) - 1) > 1e-6:
            raise InvalidFact("the shares must sum to 1", "parts", row)
    if len({order.order for order in orders}) < len(orders):
        raise InvalidFact("an order is given twice", "order")


@dataclass(frozen=True, eq=False)
class _Data:
    """The orders as arrays: names of the levels of each factor and the shares [orders, levels]."""

    orders: tuple[ClosedOrder, ...]
    names: tuple[tuple[str, ...], ...]
    factors: tuple[FloatArray, ...]
    y: FloatArray

    @property
    def crew_shares(self) -> FloatArray:
        """How much of the evidence is each crew's."""
        return np.asarray(self.factors[CREW].mean(axis=0))

    def sum_of(self, *by_factor: FloatArray | None, mu: float = 1.0) -> FloatArray:
        """Weights of mu and all effects; None for a factor: nothing of it."""
        given = [
            np.zeros(factor.shape[1]) if part is None else part
            for part, factor in zip(by_factor, self.factors, strict=True)
        ]
        return np.concatenate([[mu], *given])


def _data(orders: Iterable[ClosedOrder]) -> _Data:
    given = tuple(sorted(orders, key=lambda order: order.order))
    methods = tuple(sorted({part.method for order in given for part in order.parts}))
    forms = tuple(sorted({part.growth_form for order in given for part in order.parts}))
    crews = tuple(sorted({order.crew for order in given}))
    shares = (
        [[order.share(lambda part, m=m: part.method == m) for m in methods] for order in given],  # type: ignore[misc]
        [[order.share(lambda part, f=f: part.growth_form == f) for f in forms] for order in given],  # type: ignore[misc]
        [[float(order.crew == crew) for crew in crews] for order in given],
    )
    factors = tuple(np.array(rows, dtype=float) for rows in shares)
    return _Data(given, (methods, forms, crews), factors, np.array([order.log_ratio for order in given]))


def calibrate(orders: Iterable[ClosedOrder], *, level: float = LEVEL, robust: bool = True) -> Calibration:
    """Ratios of actual to estimated hours; the order in which the orders come makes no difference.

    Raises `InvalidFact` where hours are not above 0, shares do not sum to 1, or an order comes twice.
    """
    given = tuple(orders)
    _check(given)
    if len(given) < FEWEST_ORDERS:
        because = f"Not enough evidence: {len(given)} closed orders with measured hours; {FEWEST_ORDERS} are needed."
        return Calibration(level, False, because, None, (), (), (), (), None, 1.0)
    data = _data(given)
    weights = robust_weights(data.y, data.factors, clip=CLIP) if robust else np.ones(len(given))
    fit = posterior(data.y, data.factors, weights, inflation=huber_inflation(CLIP) if robust else 1.0)
    teller = _Teller(data, fit, level)
    methods, spreads = teller.methods(), _spreads(data, fit, weights)
    enough = any(row.enough for row in methods)
    return Calibration(
        level=level,
        enough=enough,
        because="" if enough else "Not enough evidence for any method yet.",
        overall=teller.overall(),
        methods=methods,
        forms=teller.forms(methods),
        crews=teller.crews(),
        weights=tuple(
            Weighed(order.order, math.exp(order.log_ratio), float(weight), bool(weight < WILD_WEIGHT))
            for order, weight in zip(data.orders, weights, strict=True)
        ),
        spreads=spreads,
        own_spread_factor=_own_spread_factor(data, spreads),
    )


def _spreads(data: _Data, fit: Posterior, weights: FloatArray) -> Spreads:
    likely = reml(data.y, data.factors, weights)
    among = fit.effects[fit.factor == CREW]
    crews = math.sqrt(float(data.crew_shares @ (among - data.crew_shares @ among) ** 2))
    tau = [float(value) for value in likely.tau]
    order = likely.sigma * math.sqrt(fit.inflation)
    return Spreads(tau[METHOD], tau[FORM], tau[CREW], order, math.hypot(fit.sigma, crews))


def _own_spread_factor(data: _Data, spreads: Spreads) -> float:
    """What own spreads are to be multiplied by so that, with the survey's part, they make what was seen; the change is
    held within a factor of 3."""
    own = float(np.mean([order.own_log_sd**2 for order in data.orders]))
    survey = float(np.mean([order.survey_log_sd**2 for order in data.orders]))
    if own == 0:
        return 1.0
    return min(3.0, max(1 / 3, math.sqrt(max(spreads.next_order**2 - survey, 0.0) / own)))


@dataclass(frozen=True, eq=False)
class _Teller:
    """Reads ratios out of a fit."""

    data: _Data
    fit: Posterior
    level: float

    def _ratio(
        self,
        sum_of: FloatArray,
        worth: FloatArray,
        judge: Callable[[float, float], str],
        *,
        method: str = "",
        growth_form: str = "",
        crew: str = "",
    ) -> Ratio:
        known = self.fit.of(sum_of, self.level)
        after = self._next(sum_of, crew)
        counted = float(worth.sum())
        reason = judge(counted, math.exp(known.high - known.low))
        return Ratio(
            method=method,
            growth_form=growth_form,
            crew=crew,
            ratio=math.exp(known.mean),
            low=math.exp(known.low),
            high=math.exp(known.high),
            log_sd=known.sd,
            next_low=math.exp(after.low),
            next_high=math.exp(after.high),
            worth=counted,
            orders=tuple(self.data.orders[row].order for row in np.flatnonzero(worth > 1e-9)),
            enough=not reason,
            reason=reason,
        )

    def _next(self, sum_of: FloatArray, crew: str) -> Known:
        """One more order; where no crew is named, by any of them as they worked."""
        if crew:
            return self.fit.of(sum_of, self.level, new_row=True)
        first = len(sum_of) - len(self.data.crew_shares)
        kinds = np.tile(sum_of, (len(self.data.crew_shares), 1))
        kinds[:, first:] = np.eye(len(self.data.crew_shares))
        return self.fit.of(kinds, self.level, chances=self.data.crew_shares, new_row=True)

    def overall(self) -> Ratio:
        """All that was worked, as it was mixed."""
        shares = [factor.mean(axis=0) for factor in self.data.factors]
        return self._ratio(self.data.sum_of(*shares), np.ones(len(self.data.y)), _judge_method)

    def methods(self) -> tuple[Ratio, ...]:
        """Each method, over the growth forms that it was used on."""
        found = []
        for index, method in enumerate(self.data.names[METHOD]):
            worth = self.data.factors[METHOD][:, index]
            forms = self._cells(method).sum(axis=0) / worth.sum()
            one = np.eye(len(self.data.names[METHOD]))[index]
            sum_of = self.data.sum_of(one, forms, self.data.crew_shares)
            found.append(self._ratio(sum_of, worth, _judge_method, method=method))
        return tuple(found)

    def _cells(self, method: str) -> FloatArray:
        """Shares of a method's work by order and growth form."""
        forms = self.data.names[FORM]
        rows = [
            [order.share(lambda part, f=form: (part.method, part.growth_form) == (method, f)) for form in forms]  # type: ignore[misc]
            for order in self.data.orders
        ]
        return np.array(rows, dtype=float)

    def forms(self, methods: tuple[Ratio, ...]) -> tuple[Ratio, ...]:
        """Each growth form of each method on which it was used."""
        found = []
        for index, row in enumerate(methods):
            cells = self._cells(row.method)
            for number in np.flatnonzero(cells.sum(axis=0) > 1e-9):
                one = np.eye(len(self.data.names[METHOD]))[index]
                form = np.eye(len(self.data.names[FORM]))[number]
                sum_of = self.data.sum_of(one, form, self.data.crew_shares)
                judge = _judge_form if row.enough else _judge_method
                named = {"method": row.method, "growth_form": self.data.names[FORM][number]}
                found.append(self._ratio(sum_of, cells[:, number], judge, **named))
        return tuple(found)

    def crews(self) -> tuple[Ratio, ...]:
        """Each crew against all of them."""
        found = []
        for index, crew in enumerate(self.data.names[CREW]):
            beside = np.eye(len(self.data.names[CREW]))[index] - self.data.crew_shares
            sum_of = self.data.sum_of(None, None, beside, mu=0.0)
            found.append(self._ratio(sum_of, self.data.factors[CREW][:, index], self._judge_crew, crew=crew))
        return tuple(found)

    def _judge_crew(self, worth: float, width: float) -> str:
        if len(self.data.names[CREW]) < 2:
            return "Not enough evidence: there is one crew only, so its pace cannot be told from the rates."
        return _judge_method(worth, width)


def _judge(worth: float, width: float, fewest: int) -> str:
    """Why the evidence is not enough; empty: it is."""
    if worth < fewest - 1e-9:
        return f"Not enough evidence: the worth of {worth:.1f} orders; {fewest} are needed."
    if width > WIDEST_INTERVAL:
        return f"Not enough evidence: the interval's ends differ by a factor of {width:.1f}; at most 2 is acted on."
    return ""


def _judge_method(worth: float, width: float) -> str:
    return _judge(worth, width, FEWEST_ORDERS)


def _judge_form(worth: float, width: float) -> str:
    return _judge(worth, width, FEWEST_OF_A_FORM)
