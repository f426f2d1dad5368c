"""What may be asked of the pages. What is wrong is refused field by field, and nothing is guessed."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.utils.http import urlencode

from orders.common.errors import FieldError, Invalid
from orders.costs.selectors import funds
from orders.planning.models import Season
from orders.planning.selectors import season_get, seasons
from orders.reports.costs import CUTS
from orders.reports.shown import SORTS

USUAL_CUT = "site"
LABEL_CHARACTERS = 200


class LoginForm(AuthenticationForm):
    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": "This username and password do not go together. Capital letters count in both.",
    }


@dataclass(frozen=True)
class CostQuestion:
    """What a cost page shows. All of it stands in the address, so that an address can be kept or passed on."""

    by: str = USUAL_CUT
    season: Season | None = None
    fund: str = ""
    text: str = ""
    sort: str = "key"

    @property
    def fund_id(self) -> UUID | None:
        return UUID(self.fund) if self.fund else None

    def address(self) -> str:
        """The query part of the address; what is as usual is left out."""
        season = str(self.season.public_id) if self.season else ""
        said = {"by": self.by, "season": season, "fund": self.fund, "q": self.text, "sort": self.sort}
        usual = {"by": USUAL_CUT, "sort": "key"}
        return f"?{urlencode({name: value for name, value in said.items() if value != usual.get(name, '')})}"

    def row_addresses(self, keys: Iterable[str]) -> list[str]:
        """Of the rows behind each row: the text and the order of the report are kept for the way back."""
        own = self.address()
        joined = own if own == "?" else f"{own}&"
        return [f"{joined}{urlencode({'key': key})}" for key in keys]

    def sorted_by(self, column: str) -> "CostQuestion":
        """The order that a click on a column's heading gives: largest first, names from A; once more turns it."""
        first = column if column == "key" else f"-{column}"
        turned = first.removeprefix("-") if first.startswith("-") else f"-{first}"
        return replace(self, sort=turned if self.sort == first else first)


class CostForm(forms.Form):
    """The question as it comes in an address. Lists of seasons and funds are read when it is made."""

    by = forms.ChoiceField(choices=list(CUTS.items()), required=False)
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Search the rows")
    sort = forms.ChoiceField(choices=[(f"{turn}{name}", name) for name in SORTS for turn in ("", "-")], required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.seasons = [("", "All seasons"), *((str(row.public_id), row.name) for row in seasons())]
        self.funds = [("", "All funds"), *((str(row.public_id), row.name) for row in funds())]
        self.fields["season"] = forms.ChoiceField(choices=self.seasons, required=False)
        self.fields["fund"] = forms.ChoiceField(choices=self.funds, required=False)

    def fund_name(self, fund: str) -> str:
        return dict(self.funds).get(fund, "")

    def question(self) -> CostQuestion:
        told = asked(self)
        return CostQuestion(
            by=told["by"] or USUAL_CUT,
            season=season_get(UUID(told["season"])) if told["season"] else None,
            fund=told["fund"],
            text=told["q"],
            sort=told["sort"] or "key",
        )


class RowForm(CostForm):
    """One row of the report, and how far its lists are turned."""

    key = forms.CharField(required=False, max_length=LABEL_CHARACTERS, strip=False)
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)
    planned_page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def clean_key(self) -> str:
        """Empty names the rows that have none; left out, it names nothing."""
        if "key" not in self.data:
            raise forms.ValidationError("is required")
        return str(self.cleaned_data["key"])


def asked(form: forms.Form) -> dict[str, Any]:
    """The checked values, or a refusal that names each field."""
    if not form.is_valid():
        errors = [FieldError(name, str(text)) for name, texts in form.errors.items() for text in texts]
        raise Invalid("The address asks for something that this page does not have.", errors)
    return form.cleaned_data
