"""What may be typed about people, what they may do, crews, days off, roles and their rates."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms

from orders.common.rows import row_mark
from orders.common.selectors import user_by_name
from orders.crews.models import PERSON_TYPES, Crew, CrewMembership, LaborRole, Person, Qualification, QualificationKind
from orders.crews.selectors import (
    crews_all,
    labor_role_get,
    labor_roles,
    logins_free,
    people_all,
    person_get,
    qualification_kind_get,
    qualification_kinds,
)
from orders.desk.setup.kit import choices_of, version_field
from orders.desk.site_forms import day_field
from orders.sites.selectors import jurisdiction_by_code, jurisdictions, jurisdictions_offered

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DOLLAR_E4 = Decimal(10_000)
CODE_HELP = "Short, in small letters with hyphens, such as crew-lead. It stays as it is once it is set."


def may_day(label: str, **more: Any) -> forms.DateField:
    """A day that may be left empty."""
    return forms.DateField(label=label, required=False, widget=forms.DateInput(attrs={"type": "date"}), **more)


def mark_field() -> forms.CharField:
    """What was read, of a row that has no version; it travels hidden."""
    return forms.CharField(required=False, widget=forms.HiddenInput)


class PersonForm(forms.Form):
    name = forms.CharField(max_length=120, label="Name", help_text="As crews call them; it stands on orders.")
    person_type = forms.ChoiceField(
        choices=PERSON_TYPES, label="Kind", help_text="Volunteers get no herbicide work here, and are not paid."
    )
    email = forms.EmailField(required=False, label="Mail", help_text="For reminders about their own license.")
    born_on = may_day("Born on", help_text="Only where the age matters for what they may do; the office alone sees it.")
    version = version_field()

    def __init__(self, *args: Any, person: Person | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["role"] = forms.ChoiceField(
            choices=choices_of(labor_roles()),
            label="Labor role",
            help_text="It prices estimates. What the person is paid stays with finance.",
        )
        logins = [(user.username, user.get_full_name() or user.username) for user in logins_free(person)]
        self.fields["user"] = forms.ChoiceField(
            choices=[("", "No login"), *logins],
            required=False,
            label="Login",
            help_text="Who logs in as this person: a crew lead sees the orders of the crews that the person is on.",
        )

    @classmethod
    def of(cls, person: Person) -> "PersonForm":
        kept = {name: getattr(person, name) for name in ("name", "person_type", "email", "born_on", "version")}
        user = person.user.username if person.user else ""
        return cls(initial={**kept, "role": str(person.role.public_id), "user": user}, person=person)

    def values(self) -> dict[str, Any]:
        told = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        user = user_by_name(told["user"]) if told["user"] else None
        return {**told, "role": labor_role_get(UUID(told["role"])), "user": user}


class KindForm(forms.Form):
    code = forms.SlugField(max_length=50, label="Code", help_text=CODE_HELP)
    name = forms.CharField(max_length=80, label="Name", help_text="Such as Certified applicator.")
    is_license = forms.BooleanField(
        required=False,
        label="It is a license",
        help_text="A license is given by a jurisdiction and holds there only. A training holds everywhere.",
    )
    version = mark_field()

    @classmethod
    def of(cls, kind: QualificationKind) -> "KindForm":
        form = cls(initial={"name": kind.name, "is_license": kind.is_license, "version": row_mark(kind)})
        del form.fields["code"]
        return form

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


class QualificationForm(forms.Form):
    number = forms.CharField(max_length=40, required=False, label="Number", help_text="As it stands on the license.")
    category = forms.CharField(
        max_length=40, required=False, label="Category", help_text="Of the license, such as forest or right-of-way."
    )
    first_day = day_field("First day")
    last_day = day_field("Last day")
    version = version_field()

    def __init__(self, *args: Any, person: Person, is_new: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_new:
            self.fields["kind"] = forms.ChoiceField(choices=choices_of(qualification_kinds()), label="What they may do")
        known = jurisdictions_offered() if is_new else jurisdictions()
        places = [("", "Everywhere"), *((row.code, row.name) for row in known)]
        self.fields["jurisdiction"] = forms.ChoiceField(
            choices=places, required=False, label="Holds in", help_text="A license holds where it was given, alone."
        )
        others = [row for row in people_all() if row.is_active and row.pk != person.pk]
        self.fields["supervised_by"] = forms.ChoiceField(
            choices=choices_of(others, "Nobody"),
            required=False,
            label="Supervised by",
            help_text="A technician who may work only under a licensed person: who that is. What supervision asks "
            "for, the law of the place and the label say.",
        )
        wanted = ("kind", "jurisdiction", "number", "category", "first_day", "last_day", "supervised_by")
        self.order_fields(wanted)

    @classmethod
    def of(cls, row: Qualification) -> "QualificationForm":
        kept = {name: getattr(row, name) for name in ("number", "category", "first_day", "last_day", "version")}
        supervisor = str(row.supervised_by.public_id) if row.supervised_by else ""
        place = row.jurisdiction.code if row.jurisdiction else ""
        initial = {**kept, "supervised_by": supervisor, "jurisdiction": place}
        return cls(initial=initial, person=row.person, is_new=False)

    def values(self) -> dict[str, Any]:
        told = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        if "kind" in told:
            told["kind"] = qualification_kind_get(UUID(told["kind"]))
        told["jurisdiction"] = jurisdiction_by_code(told["jurisdiction"]) if told["jurisdiction"] else None
        told["supervised_by"] = person_get(UUID(told["supervised_by"])) if told["supervised_by"] else None
        return told


class EndForm(forms.Form):
    """Stands under another form on the same page, whose names of controls it must not share."""

    last_day = day_field("Last day")
    version = version_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "end_%s"


class CrewForm(forms.Form):
    name = forms.CharField(max_length=80, label="Name")
    hours_a_day = forms.DecimalField(
        max_digits=4,
        decimal_places=2,
        label="Hours a day",
        help_text="Paid hours, with the drive and the breaks in them. The plan fills no day beyond them.",
    )
    weekdays = forms.MultipleChoiceField(
        choices=[(str(number), name) for number, name in enumerate(WEEKDAYS)],
        widget=forms.CheckboxSelectMultiple,
        label="Works on",
        error_messages={"required": "A crew works on one weekday at least."},
    )
    version = version_field()

    @classmethod
    def of(cls, crew: Crew) -> "CrewForm":
        days = [str(number) for number, works in enumerate(crew.works_weekdays) if works == "1"]
        kept = {"name": crew.name, "hours_a_day": crew.hours_a_day, "version": crew.version}
        return cls(initial={**kept, "weekdays": days})

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        works = "".join("1" if str(number) in told["weekdays"] else "0" for number in range(7))
        return {"name": told["name"], "hours_a_day": told["hours_a_day"], "works_weekdays": works}


class NewCrewForm(CrewForm):
    """With who is on it from its first day; more are put on it on its own page."""

    def __init__(self, *args: Any, free: list[Person], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.free = {str(person.public_id): person for person in free}
        if free:
            self.fields["people"] = forms.MultipleChoiceField(
                choices=[(key, f"{person.name}, {person.role}") for key, person in self.free.items()],
                widget=forms.CheckboxSelectMultiple,
                required=False,
                label="People on it from today",
                help_text="Those who are on no crew today. More can be put on it later.",
            )
            self.fields["lead"] = forms.ChoiceField(
                choices=choices_of(free, "Nobody yet"),
                required=False,
                label="Who leads it",
                help_text="The lead is on the crew, and gets its orders and reminders.",
            )

    def stays(self) -> list[tuple[Person, bool]]:
        """Who is put on the crew, and whether that one leads it."""
        lead = self.cleaned_data.get("lead", "")
        marked = {*self.cleaned_data.get("people", []), lead} - {""}
        return [(person, key == lead) for key, person in self.free.items() if key in marked]


class MemberForm(forms.Form):
    first_day = day_field("First day on the crew")
    last_day = may_day("Last day", help_text="Empty: until it is ended.")
    is_lead = forms.BooleanField(
        required=False, label="Leads the crew", help_text="The lead gets the crew's orders and reminders."
    )
    version = mark_field()

    def __init__(self, *args: Any, is_new: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_new:
            listed = [row for row in people_all() if row.is_active]
            self.fields["person"] = forms.ChoiceField(choices=choices_of(listed), label="Person")
            self.order_fields(("person", "first_day", "last_day", "is_lead"))

    @classmethod
    def of(cls, member: CrewMembership) -> "MemberForm":
        kept = {name: getattr(member, name) for name in ("first_day", "last_day", "is_lead")}
        return cls(initial={**kept, "version": row_mark(member)}, is_new=False)

    def values(self) -> dict[str, Any]:
        told = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        if "person" in told:
            told["person"] = person_get(UUID(told["person"]))
        return told


class LeadForm(forms.Form):
    from_day = day_field("From")

    def __init__(self, *args: Any, people: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "lead_%s"
        self.fields["person"] = forms.ChoiceField(choices=choices_of(people), label="Who leads")


class AbsenceForm(forms.Form):
    """Days off of a person or of a whole crew."""

    first_day = day_field("First day off")
    last_day = day_field("Last day off")
    why = forms.CharField(
        max_length=120, label="Why", help_text="Such as leave, holiday or training. The office sees it."
    )
    version = mark_field()

    def __init__(self, *args: Any, is_new: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_new:
            crews = [(f"crew {row.public_id}", f"The whole of {row.name}") for row in crews_all() if row.is_active]
            listed = [(f"person {row.public_id}", row.name) for row in people_all() if row.is_active]
            choices: list[Any] = [("", "Choose"), ("Whole crews", crews), ("People", listed)]
            self.fields["who"] = forms.ChoiceField(choices=choices, label="Who is off")
            self.order_fields(("who", "first_day", "last_day", "why"))

    @classmethod
    def of(cls, row: Any) -> "AbsenceForm":
        kept = {name: getattr(row, name) for name in ("first_day", "last_day", "why")}
        return cls(initial={**kept, "version": row_mark(row)}, is_new=False)


class RoleForm(forms.Form):
    code = forms.SlugField(max_length=50, label="Code", help_text=CODE_HELP)
    name = forms.CharField(max_length=60, label="Name", help_text="Such as Crew lead.")
    version = mark_field()

    @classmethod
    def of(cls, role: LaborRole) -> "RoleForm":
        form = cls(initial={"name": role.name, "version": row_mark(role)})
        del form.fields["code"]
        return form

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


class RateForm(forms.Form):
    from_day = day_field("From")
    rate = forms.DecimalField(
        min_value=0,
        max_value=10_000,
        max_digits=9,
        decimal_places=4,
        label="Dollars an hour",
        help_text="Fully burdened: wage, taxes, benefits, and paid time off shared out over the hours worked.",
    )
    source = forms.CharField(max_length=200, label="Source", help_text="Where the figure comes from, with its date.")

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        rate_e4 = int(told["rate"] * DOLLAR_E4)
        return {"from_day": told["from_day"], "rate_e4": rate_e4, "source": told["source"]}


class RatesForm(forms.Form):
    """The rates of several roles from one day on; a role left empty keeps the rate that it has."""

    from_day = day_field("From")
    source = forms.CharField(max_length=200, label="Source", help_text="Where the figures come from, with their date.")

    def __init__(self, *args: Any, roles: list[LaborRole], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.roles = {f"rate_{role.pk}": role for role in roles}
        for name, role in self.roles.items():
            self.fields[name] = forms.DecimalField(
                min_value=0,
                max_value=10_000,
                max_digits=9,
                decimal_places=4,
                required=False,
                label=f"{role.name}, $ an hour",
            )

    def clean(self) -> dict[str, Any]:
        told = self.cleaned_data
        if not self.errors and all(told[name] is None for name in self.roles):
            raise forms.ValidationError("No rate is entered.")
        return told

    def rates(self) -> list[tuple[LaborRole, int]]:
        told = self.cleaned_data
        return [(role, int(told[name] * DOLLAR_E4)) for name, role in self.roles.items() if told[name] is not None]


def a_year_on(day: date) -> date:
    """The usual last day of what is given for a year."""
    return day + timedelta(days=364)
