"""People and what they may do. What anybody is paid is not here."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.permissions import OFFICE
from orders.api.shapes import NamedRef, Row, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Day, Flag, Id, Text
from orders.common.rows import row_mark
from orders.common.selectors import user_by_name
from orders.crews.models import PERSON_TYPES, Person, Qualification, QualificationKind
from orders.crews.selectors import (
    labor_role_by_code,
    people,
    people_on,
    person_get,
    qualification_get,
    qualification_kind_by_code,
    qualification_kind_get,
    qualification_kinds,
)
from orders.crews.services import (
    person_add,
    person_edit,
    qualification_add,
    qualification_edit,
    qualification_kind_add,
    qualification_kind_edit,
)
from orders.sites.selectors import jurisdiction_by_code


class QualificationOut(VersionedRow):
    kind = serializers.CharField(source="kind.code")
    jurisdiction = serializers.CharField(source="jurisdiction.code", allow_null=True)
    number = serializers.CharField()
    category = serializers.CharField()
    supervised_by = NamedRef(allow_null=True)
    first_day = serializers.DateField()
    last_day = serializers.DateField()


class PersonOut(VersionedRow):
    only_for = {"born_on": OFFICE, "email": OFFICE}

    name = serializers.CharField()
    person_type = serializers.ChoiceField(PERSON_TYPES)
    role = serializers.CharField(source="role.code")
    is_active = serializers.BooleanField()
    born_on = serializers.DateField(allow_null=True)
    email = serializers.CharField()
    qualifications = QualificationOut(many=True)


class PersonIn(Body):
    name = Text(max_length=120)
    person_type = Choice(PERSON_TYPES)
    role = Text(max_length=50, help_text="A labor role's code.")
    user = Text(max_length=150, required=False, allow_null=True, help_text="The login of this person.")
    born_on = Day(required=False, allow_null=True)
    email = serializers.EmailField(max_length=254, required=False, allow_blank=True)


class PersonEdit(Body):
    name = Text(max_length=120, required=False)
    person_type = Choice(PERSON_TYPES, required=False)
    role = Text(max_length=50, required=False, help_text="A labor role's code.")
    user = Text(max_length=150, required=False, allow_null=True, help_text="The login of this person.")
    born_on = Day(required=False, allow_null=True)
    email = serializers.EmailField(max_length=254, required=False, allow_blank=True)
    is_active = Flag(required=False)


class PersonFilter(Filters):
    crew = OfId(method="on_crew", help_text="Who is on the crew today.")
    person_type = AnyOf(words=PERSON_TYPES)
    is_active = YesNo()

    def on_crew(self, rows: QuerySet[Person], name: str, crew_id: Any) -> QuerySet[Person]:
        return people_on(rows, crew_id, self.today)


class _People(Endpoint):
    def told(self) -> dict[str, Any]:
        """The body with its rows."""
        found = dict(self.body)
        if "role" in found:
            found["role"] = labor_role_by_code(found["role"])
        if found.get("user") is not None:
            found["user"] = user_by_name(found["user"])
        return found


class People(ListEndpoint, _People):
    endpoint = "people"
    row = PersonOut
    filters = PersonFilter
    sorts = {"name": "name"}
    usual_sort = "name"

    def rows(self) -> QuerySet[Person]:
        """People and what they may do. Birthdays and addresses are the office's."""
        return people()

    @writes(PersonOut, body=PersonIn, located_at="person", names_others=True)
    def post(self) -> Person:
        """Add a person."""
        return person_get(person_add(stamp=self.stamp(), **self.told()).public_id)


class PersonOne(_People):
    endpoint = "person"

    @shows(PersonOut)
    def get(self, person_id: Any) -> Person:
        """One person."""
        return person_get(person_id)

    @edits(PersonOut, body=PersonEdit, names_others=True)
    def patch(self, person_id: Any) -> Person:
        """Change a person's facts. Who has left is made inactive: hours and records stay."""
        row = person_get(person_id)
        person_edit(person=row, values=self.told(), expected=self.version_named(row), stamp=self.stamp())
        return person_get(person_id)


class KindOut(Row):
    code = serializers.CharField()
    name = serializers.CharField()
    is_license = serializers.BooleanField(help_text="A license holds in its jurisdiction only.")


class KindIn(Body):
    code = Text(max_length=50)
    name = Text(max_length=80)
    is_license = Flag(required=False)


class KindEdit(Body):
    name = Text(max_length=80, required=False)
    is_license = Flag(required=False)


class QualificationKinds(ListEndpoint):
    endpoint = "qualification-kinds"
    row = KindOut
    sorts = {"name": "name", "code": "code"}
    usual_sort = "name"

    def rows(self) -> QuerySet[QualificationKind]:
        """What somebody may be qualified for."""
        return qualification_kinds()

    @writes(KindOut, body=KindIn, located_at="qualification-kind")
    def post(self) -> QualificationKind:
        """Add a kind."""
        return qualification_kind_add(stamp=self.stamp(), **self.body)


class QualificationKindOne(Endpoint):
    endpoint = "qualification-kind"

    @shows(KindOut)
    def get(self, kind_id: Any) -> QualificationKind:
        """One kind."""
        return qualification_kind_get(kind_id)

    @edits(KindOut, body=KindEdit)
    def patch(self, kind_id: Any) -> QualificationKind:
        """Change its name, or whether it is a license."""
        row = qualification_kind_get(kind_id)
        self.current_check(row)
        return qualification_kind_edit(kind=row, values=self.body, read=row_mark(row), stamp=self.stamp())


def _place() -> Text:
    return Text(max_length=10, required=False, allow_null=True, help_text="A jurisdiction's code; a license needs it.")


class QualificationIn(Body):
    kind = Text(max_length=50, help_text="A kind's code.")
    jurisdiction = _place()
    number = Text(max_length=40, required=False, allow_blank=True)
    category = Text(max_length=40, required=False, allow_blank=True)
    supervised_by = Id(required=False, allow_null=True, help_text="A person.")
    first_day = Day()
    last_day = Day()


class QualificationEdit(Body):
    jurisdiction = _place()
    number = Text(max_length=40, required=False, allow_blank=True)
    category = Text(max_length=40, required=False, allow_blank=True)
    supervised_by = Id(required=False, allow_null=True, help_text="A person.")
    first_day = Day(required=False)
    last_day = Day(required=False)


class _Qualifications(Endpoint):
    def told(self) -> dict[str, Any]:
        """The body with its rows."""
        readers = {
            "kind": qualification_kind_by_code,
            "jurisdiction": jurisdiction_by_code,
            "supervised_by": person_get,
        }
        return {
            name: readers[name](value) if name in readers and value is not None else value  # type: ignore[operator]
            for name, value in self.body.items()
        }


class PersonQualifications(_Qualifications):
    endpoint = "person-qualifications"

    @writes(QualificationOut, body=QualificationIn, located_at="qualification", names_others=True)
    def post(self, person_id: Any) -> Qualification:
        """Record what a person may do, where and until when."""
        return qualification_add(person=person_get(person_id), stamp=self.stamp(), **self.told())


class QualificationOne(_Qualifications):
    endpoint = "qualification"

    @shows(QualificationOut)
    def get(self, qualification_id: Any) -> Qualification:
        """One qualification."""
        return qualification_get(qualification_id)

    @edits(QualificationOut, body=QualificationEdit, names_others=True)
    def patch(self, qualification_id: Any) -> Qualification:
        """Correct it, name who supervises, or end it by its last day. A renewed license is added beside the old."""
        row = qualification_get(qualification_id)
        expected = self.version_named(row)
        return qualification_edit(qualification=row, values=self.told(), expected=expected, stamp=self.stamp())
