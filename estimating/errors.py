"""What can go wrong in an estimate: a few kinds, each naming the field and the row."""

from dataclasses import dataclass


@dataclass
class EstimatingError(Exception):
    """Base of every refusal in this package.

    `field` is the name of the input that is wrong, `row` its index in the arrays (None where no single row is to
    blame), `message` plain words for a person.
    """

    message: str
    field: str | None = None
    row: int | None = None

    code = "estimating"

    def __str__(self) -> str:
        where = "" if self.field is None else f"{self.field}: "
        at = "" if self.row is None else f" (row {self.row})"
        return f"{where}{self.message}{at}"


class InvalidFact(EstimatingError):
    """A fact of a patch, component, crew day or price that cannot be true."""

    code = "invalid-fact"


class InvalidRate(EstimatingError):
    """A row of the rate book that cannot be used, or one that is missing."""

    code = "invalid-rate"


class UnknownCode(EstimatingError):
    """A code (method, form, scheme, role, product) that nothing defines."""

    code = "unknown-code"


class LabelRefusal(EstimatingError):
    """A computation that a product label does not allow or does not cover."""

    code = "label-refusal"


class WorkStopped(EstimatingError):
    """Conditions in which no work may be planned, such as heat above the work/rest table."""

    code = "work-stopped"
