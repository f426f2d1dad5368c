"""What may be tried with an estimate, as a form whose state stands in the address."""

from collections.abc import Mapping, Sequence

from django import forms

from estimating.inputs import CrewDay
from orders.common.errors import Invalid
from orders.estimates.trying import HIGHEST_F, LAST_DAY_IN_HEAT, LOWEST_F, MOST_OF_A_ROLE, Trial
from orders.supplies.models import Mix

ROLE = "role-"
# Kinds of work: common practice. The table that they are read from is NIOSH's.
WORKLOADS = (
    ("light", "Light: standing, mixing, looking"),
    ("moderate", "Moderate: steady walking, spraying, cutting by hand"),
    ("heavy", "Heavy: pulling, digging, sawing, carrying uphill"),
)


def typed(keyboard: str) -> forms.TextInput:
    """A figure typed as text, so that what was typed wrong can be shown again."""
    return forms.TextInput(attrs={"inputmode": keyboard, "autocomplete": "off"})


class TryForm(forms.Form):
    """People by role, heat and mix; what is left empty is as estimated. `own` is the crew by role."""

    air_temperature_f = forms.FloatField(
        required=False,
        widget=typed("decimal"),
        min_value=LOWEST_F,
        max_value=HIGHEST_F,
        label="Air temperature, °F",
        help_text="Leave empty for ordinary weather. From 90 °F on, work and rest by the hour count.",
    )
    workload = forms.ChoiceField(required=False, choices=WORKLOADS, label="How hard the work is")
    new_workers = forms.IntegerField(
        required=False,
        widget=typed("numeric"),
        min_value=0,
        max_value=MOST_OF_A_ROLE,
        label="New to work in heat",
        help_text="People of the crew. They count from 90 °F on.",
    )
    returning_workers = forms.IntegerField(
        required=False,
        widget=typed("numeric"),
        min_value=0,
        max_value=MOST_OF_A_ROLE,
        label="Back in heat after a break",
        help_text="People of the crew who were used to it before.",
    )
    day_in_heat = forms.IntegerField(
        required=False,
        widget=typed("numeric"),
        min_value=1,
        max_value=LAST_DAY_IN_HEAT,
        label="Which day in heat for them",
        help_text="1 is the first.",
    )

    def __init__(
        self,
        given: Mapping[str, str],
        *,
        own: Mapping[str, int],
        day: CrewDay,
        mixes: Sequence[Mix],
        own_mix: Mix | None,
    ) -> None:
        """What the address leaves out is as estimated; without anything in it, nothing is tried."""
        names = ("workload", "new_workers", "returning_workers", "day_in_heat", "air_temperature_f")
        start = {name: getattr(day, name) for name in names} | {f"{ROLE}{role}": count for role, count in own.items()}
        super().__init__({**start, **given} if given else None, initial=start)
        self.own = own
        last = list(self.fields.items())
        self.fields.clear()
        for role in own:
            self.fields[f"{ROLE}{role}"] = forms.IntegerField(
                required=False,
                widget=typed("numeric"),
                min_value=0,
                max_value=MOST_OF_A_ROLE,
                label=role.replace("-", " ").capitalize(),
            )
        self.fields.update(last)
        if mixes:
            others = [(mix.code, mix.name) for mix in mixes if mix != own_mix]
            as_is = ("", f"As estimated: {own_mix.name if own_mix else 'none chosen'}")
            self.fields["mix"] = forms.ChoiceField(
                required=False,
                choices=[as_is, *others],
                label="Mix",
                help_text="The labels are asked about what you choose. Licensed people only.",
            )

    def trial(self) -> Trial:
        """What was asked; only of a form without errors."""
        said = self.cleaned_data
        people = {role: said[f"{ROLE}{role}"] or 0 for role in self.own}
        return Trial(
            people=None if people == dict(self.own) else people,
            air_temperature_f=said["air_temperature_f"],
            workload=said["workload"] or None,
            new_workers=said["new_workers"],
            returning_workers=said["returning_workers"],
            day_in_heat=said["day_in_heat"],
            mix=said.get("mix") or None,
        )

    def take(self, refused: Invalid) -> None:
        """What was wrong with the values together, beside the field that it is about."""
        for error in refused.errors:
            self.add_error(error.field if error.field in self.fields else None, f"{error.message}.")
