"""What may be asked of the pages of field work, and what is sent to them."""

from collections.abc import Iterable
from typing import Any, cast

from django import forms
from django.db.models import Q, QuerySet

from orders.common.models import User
from orders.common.models.user import CREW_LEAD
from orders.crews.models import Crew
from orders.desk.forms import asked
from orders.desk.listed import person
from orders.field.models import FieldPolicy, Flag
from orders.field.services.policy import RULES
from orders.planning.selectors import seasons
from orders.sites.models import Site
from orders.workorders.models import Incident, WorkOrder

LABEL_CHARACTERS = 200
MOST_PAGES = 1_000_000


class FoundForm(forms.Form):
    note = forms.CharField(max_length=200, label="How you know")


class PlacedForm(forms.Form):
    """A list that is narrowed by site and crew; the choices are read when it is made."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["site"] = _choice("Site", "All sites", Site.objects.order_by("name").values_list("code", "name"))
        named = [(str(key), name) for key, name in Crew.objects.order_by("name").values_list("public_id", "name")]
        self.fields["crew"] = _choice("Crew", "All crews", named)

    @property
    def is_narrowed(self) -> bool:
        return any(self.cleaned_data.values())


def _choice(label: str, every: str, rows: Iterable[tuple[str, str]]) -> forms.ChoiceField:
    return forms.ChoiceField(choices=[("", every), *rows], required=False, label=label)


class OrderListForm(PlacedForm):
    """By number, state, season and days; an order answers whose days touch those asked for."""

    q = forms.IntegerField(required=False, min_value=1, max_value=2_000_000_000, label="Number")
    state = forms.ChoiceField(choices=[("", "All states"), *WorkOrder.STATES], required=False, label="State")
    from_day = forms.DateField(required=False, label="From", widget=forms.DateInput(attrs={"type": "date"}))
    to_day = forms.DateField(required=False, label="Until", widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = [(str(row.public_id), row.name) for row in seasons()]
        self.fields["season"] = _choice("Season", "All seasons", named)

    def rows(self, orders: QuerySet[WorkOrder]) -> QuerySet[WorkOrder]:
        told = asked(self)
        said = {
            "number": told["q"],
            "state": told["state"],
            "site__code": told["site"],
            "crew__public_id": told["crew"],
            "season__public_id": told["season"],
            "last_day__gte": told["from_day"],
            "first_day__lte": told["to_day"],
        }
        return orders.filter(**{name: value for name, value in said.items() if value})


class IncidentListForm(PlacedForm):
    STATES = [("", "Open and closed"), ("open", "Open"), ("closed", "Closed")]
    state = forms.ChoiceField(choices=STATES, required=False, label="State")
    kind = forms.ChoiceField(choices=[("", "All kinds"), *Incident.KINDS], required=False, label="Kind")
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Search")

    def rows(self, incidents: QuerySet[Any]) -> QuerySet[Any]:
        told = asked(self)
        said = {"kind": told["kind"], "site__code": told["site"]}
        incidents = incidents.filter(**{name: value for name, value in said.items() if value})
        if told["crew"]:
            incidents = incidents.filter(crew__public_id=told["crew"])
        if told["state"]:
            incidents = incidents.filter(is_closed=told["state"] == "closed")
        if told["q"]:
            incidents = incidents.filter(Q(what_happened__icontains=told["q"]) | Q(what_was_done__icontains=told["q"]))
        return incidents


class NoteForm(forms.Form):
    note = forms.CharField(max_length=2_000, label="Note", widget=forms.Textarea(attrs={"rows": 3}))
    is_closing = forms.BooleanField(required=False, label="Nothing more is to be done about it: close it")


class DayForm(forms.Form):
    day = forms.DateField(
        required=False, label="Day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = [(str(key), name) for key, name in Crew.objects.order_by("name").values_list("public_id", "name")]
        self.fields["crew"] = _choice("Crew", "All crews", named)


class FlagListForm(PlacedForm):
    """What is open first; what was settled is there for the asking."""

    STATES = [("", "Open"), ("settled", "Settled"), ("all", "All")]
    state = forms.ChoiceField(choices=STATES, required=False, label="State")
    severity = forms.ChoiceField(choices=[("", "All"), *Flag.SEVERITIES], required=False, label="How pressing")
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Search")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = Flag.objects.order_by("kind").values_list("kind", flat=True).distinct()
        named = [(kind, kind.replace("_", " ").replace("-", " ").capitalize()) for kind in kinds]
        self.fields["kind"] = _choice("Kind", "All kinds", named)

    def rows(self, flags: QuerySet[Flag]) -> QuerySet[Flag]:
        told = asked(self)
        if told["state"] != "all":
            flags = flags.filter(state=told["state"] or "open")
        said = {"severity": told["severity"], "kind": told["kind"], "site__code": told["site"]}
        flags = flags.filter(**{name: value for name, value in said.items() if value})
        if told["crew"]:
            flags = flags.filter(crew__public_id=told["crew"])
        if told["q"]:
            flags = flags.filter(Q(title__icontains=told["q"]) | Q(detail__icontains=told["q"]))
        return flags


class SettleForm(forms.Form):
    """`resolutions` are those that the flag offers."""

    note = forms.CharField(max_length=300, label="What came of it", widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, resolutions: Iterable[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = list(resolutions)
        self.fields["resolution"] = forms.ChoiceField(
            choices=offered, label="What to do", widget=forms.RadioSelect, initial=offered[-1][0]
        )
        self.order_fields(["resolution", "note"])


def _person_and_login(obj: User) -> str:
    name, login = person(obj), obj.get_username()
    return login if name == login else f"{name} ({login})"


class CodeForm(forms.Form):
    """Who is to use a tablet: whoever logs in and is there."""

    user = forms.ModelChoiceField(queryset=User.objects.none(), to_field_name="public_id", label="For whom")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = User.objects.filter(is_active=True, roles__isnull=False).distinct().order_by("username")
        field = cast("forms.ModelChoiceField[User]", self.fields["user"])
        field.queryset = people
        field.label_from_instance = _person_and_login  # type: ignore[method-assign]
        lead = people.filter(roles__code=CREW_LEAD).first()
        self.fields["user"].initial = lead.public_id if lead else None


class ReasonForm(forms.Form):
    reason = forms.CharField(max_length=200, label="Why")


class ExportForm(forms.Form):
    file = forms.FileField(label="File", help_text="As a tablet saved it under Unsent work.")

    def __init__(self, *args: Any, most_bytes: int = 0, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.most_bytes = most_bytes

    def clean_file(self) -> Any:
        sent = self.cleaned_data["file"]
        if sent.size > self.most_bytes:
            raise forms.ValidationError(f"A file has {self.most_bytes // 1024**2} MB at most.")
        return sent


class PolicyForm(forms.ModelForm):  # type: ignore[type-arg]  # takes no parameter when it runs
    """The program's own rules; the write checks them again."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    class Meta:
        model = FieldPolicy
        fields = list(RULES)
        labels = {
            "lone_saw_work": "One person alone may run a saw",
            "lone_herbicide_work": "One person alone may use herbicide",
            "least_age": "Least age for saws and herbicide",
            "overdue_after_minutes": "Minutes after the hour named until the desk is told",
            "gap_minutes": "Minutes that a tablet's later messages wait for a missing one",
            "split_rule": "How drive and rain standby are shared over a day's orders",
        }
        help_texts = dict.fromkeys(labels, "") | {"least_age": "Never below 18."}
