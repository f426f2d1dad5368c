"""Setting people, crews and logins up: lists, empty lists, forms with what is wrong, the guide and the first login."""

from datetime import date

from tests import build


def _person():
    person = build.PersonFactory(name="Ada Fern", email="ada@example.org")
    boss = build.PersonFactory(name="Wade Hill")
    build.QualificationFactory(person=boss)
    build.QualificationFactory(person=person, number="KY-77", supervised_by=boss, last_day=date(2027, 2, 1))
    build.QualificationFactory(
        person=person, kind=build.QualificationKindFactory(code="sawyer", is_license=False), jurisdiction=None
    )
    return person


def _crew():
    kind = build.QualificationKindFactory()
    build.MethodFactory(qualification=kind)
    build.SiteFactory()
    crew = build.CrewFactory(name="Hollow crew", people=3, qualifications=["certified-applicator"])
    build.AbsenceFactory(crew=crew, first_day=date(2027, 3, 2), last_day=date(2027, 3, 4), why="Training")
    return crew


def _people() -> str:
    build.CrewMembershipFactory(person=_person(), is_lead=True)
    return "/setup/people/"


def _crews() -> str:
    _crew()
    build.CrewFactory(name="Nobody's crew")
    return "/setup/crews/"


def _absences() -> str:
    _crew()
    return "/setup/availability/?month=2027-03"


def _absence() -> str:
    return f"/setup/availability/{build.AbsenceFactory().public_id}/"


def _roles() -> str:
    build.StandardRateFactory()
    build.LaborRoleFactory(code="sawyer")
    return "/setup/roles/"


def _role() -> str:
    return f"/setup/roles/{build.StandardRateFactory().role.public_id}/"


def _guide() -> str:
    _crew()
    build.ChecklistQuestionFactory()
    return "/setup/"


def _logins() -> str:
    build.UserFactory(username="lee", roles=["crew_lead"])
    return "/setup/logins/"


STATES = {
    "setup-guide": _guide,
    "setup-guide-empty": lambda: "/setup/",
    "setup-people": _people,
    "setup-people-empty": lambda: "/setup/people/",
    "setup-person": lambda: f"/setup/people/{_person().public_id}/",
    "setup-person-edit": lambda: f"/setup/people/{_person().public_id}/edit/",
    "setup-qualification": lambda: f"/setup/qualifications/{_person().qualifications.first().public_id}/",
    "setup-qualification-new": lambda: f"/setup/people/{_person().public_id}/qualifications/new/",
    "setup-crews": _crews,
    "setup-crew": lambda: f"/setup/crews/{_crew().public_id}/",
    "setup-member-new": lambda: f"/setup/crews/{_crew().public_id}/people/new/",
    "setup-availability": _absences,
    "setup-absence": _absence,
    "setup-roles": _roles,
    "setup-role": _role,
    "setup-usual-states": lambda: "/setup/usual/jurisdictions/",
    "setup-usual-species": lambda: "/setup/usual/species/",
    "setup-usual-questions": lambda: "/setup/usual/questions/",
    "setup-person-new": lambda: "/setup/people/new/" if _roles() else "",
    "setup-crew-new": lambda: "/setup/crews/new/" if build.PersonFactory() else "",
    "setup-rates": lambda: "/setup/roles/rates/" if _roles() else "",
    "setup-kinds": lambda: "/setup/qualification-kinds/",
    "setup-password": lambda: "/setup/password/",
}
ADMINISTRATOR_STATES = {
    "setup-logins": _logins,
    "setup-login": lambda: f"/setup/logins/{build.UserFactory(username='lee').public_id}/",
    "setup-login-new": lambda: "/setup/logins/new/",
}


def login() -> str:
    """There is somebody who may log in: else the first login is asked for."""
    build.UserFactory(username="fay")
    return "/login/"


FIRST = {"first-login": lambda: "/setup/first/"}
