"""What may be asked of the page of overtime."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from orders.desk.forms import LABEL_CHARACTERS, asked


class OvertimeListForm(forms.Form):
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Person")
    week_from = forms.DateField(required=False, label="Weeks from", widget=forms.DateInput(attrs={"type": "date"}))
    week_to = forms.DateField(required=False, label="Weeks to", widget=forms.DateInput(attrs={"type": "date"}))

    @property
    def is_narrowed(self) -> bool:
        return any(self.cleaned_data.values())

    def rows(self, weeks: QuerySet[Any]) -> QuerySet[Any]:
        told = asked(self)
        said = {
            "person__name__icontains": told["q"],
            "week_start__gte": told["week_from"],
            "week_start__lte": told["week_to"],
        }
        return weeks.filter(**{name: value for name, value in said.items() if value})
