"""The steps of the first run, each with its state as the data has it: nothing is ticked by hand."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.conf import settings
from django.urls import NoReverseMatch, reverse
from django.utils.http import urlencode

from orders.desk.setup.first_run_facts import Facts

DONE, MISSING, OPTIONAL, WAITS = "done", "missing", "optional", "waits"
MARKS = {DONE: "good", MISSING: "bad", OPTIONAL: "off", WAITS: "wait"}
WORDS = {DONE: "done", MISSING: "not yet", OPTIONAL: "optional", WAITS: "waits for a step before it"}


@dataclass(frozen=True)
class Step:
    """One step: what it is for, what is still missing in words, and the page that does it."""

    name: str
    purpose: str
    button: str
    address: str
    lacking: Sequence[str] = ()
    has: str = ""  # what is there, in words
    is_optional: bool = False
    waits_for: str = ""
    posts: bool = False  # the button does it, rather than leading to a page
    is_of_money: bool = False  # its page opens to other roles than the rest

    @property
    def state(self) -> str:
        if not self.lacking:
            return OPTIONAL if self.is_optional and not self.has else DONE
        return OPTIONAL if self.is_optional else WAITS if self.waits_for else MISSING

    @property
    def mark(self) -> str:
        return MARKS[self.state]

    @property
    def words(self) -> str:
        return WORDS[self.state]


@dataclass(frozen=True)
class Stage:
    name: str
    steps: list[Step] = field(default_factory=list)


def stages(facts: Facts, today: date) -> list[Stage]:
    return [
        Stage("The program", [_settings(), _logins(facts)]),
        Stage("The ground", _ground(facts)),
        Stage("How work is done, and what it takes", _rates(facts, today)),
        Stage("People and crews", _people(facts)),
        Stage("Herbicide, equipment and money", _supplies(facts)),
        Stage("The first season", _season(facts)),
    ]


def next_step(found: Iterable[Stage]) -> Step | None:
    """The first that can be done and is needed."""
    return next((step for stage in found for step in stage.steps if step.state == MISSING), None)


def _at(name: str, *args: object) -> str:
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number:,} {one if number == 1 else many or f'{one}s'}" if number else ""


def _settings() -> Step:
    told = f"{settings.PROGRAM_NAME}, in the time of {settings.PROGRAM_TIME_ZONE.replace('_', ' ')}."
    purpose = (
        "The program's name stands on every page, its time zone decides which day it is. Both are set where the server "
        "is started (PROGRAM_NAME and PROGRAM_TIME_ZONE), not here."
    )
    return Step("Name and time zone", purpose, "", "", has=told)


def _logins(facts: Facts) -> Step:
    purpose = "Crew leads and finance need their own logins; you can work alone until then."
    lacking = [] if facts.users > 1 else ["You are the only one who can log in."]
    has = _count(facts.users, "login")
    return Step("Logins", purpose, "Add logins", _at("setup-users"), lacking, has, is_optional=True)


def _ground(facts: Facts) -> list[Step]:
    jurisdictions = Step(
        "Jurisdictions",
        "The state or other area whose law holds at a site: licenses hold by it, and records are kept by its rules.",
        "Jurisdictions" if facts.jurisdictions else "Choose jurisdictions",
        _at("setup-jurisdictions") if facts.jurisdictions else _at("setup-usual", "jurisdictions"),
        [] if facts.jurisdictions else ["No jurisdiction yet."],
        _count(facts.jurisdictions, "jurisdiction"),
    )
    species = Step(
        "Species",
        "What is fought: whether it resprouts and when it fruits decides which methods fit and when it is too late.",
        "Species" if facts.species else "Choose species",
        _at("setup-species") if facts.species else _at("setup-usual", "species"),
        [] if facts.species else ["No species yet."],
        _count(facts.species, "species", "species"),
    )
    return [jurisdictions, species, _sites(facts), _questions(facts), _answers(facts)]


def _sites(facts: Facts) -> Step:
    lacking = [] if facts.sites else ["No site yet."]
    lacking += [f"{name}: the emergency plan lacks {what}." for name, what in facts.plans_lacking]
    button, address = "Add a site", _at("setup-site-new")
    if facts.site_to_plan:
        button, address = "Note the emergency plan", _at("site-emergency", facts.site_to_plan)
    elif facts.sites:
        button, address = "Sites", _at("setup-sites")
    return Step(
        "Sites",
        "Where the work is: boundary, drive from the shop, way in, and how help comes if somebody is hurt.",
        button,
        address,
        lacking,
        _count(facts.sites, "site"),
        waits_for="" if facts.jurisdictions else "Jurisdictions",
    )


def _questions(facts: Facts) -> Step:
    return Step(
        "Checklist questions",
        "What must be known of a site before a crew goes there, such as power lines, wells or a permit. An order is "
        "issued only when each is answered.",
        "Questions" if facts.questions else "Choose questions",
        _at("setup-questions") if facts.questions else _at("setup-usual", "questions"),
        [] if facts.questions else ["No question yet: nothing would be asked of a site before a crew goes there."],
        _count(facts.questions, "question"),
    )


def _answers(facts: Facts) -> Step:
    lacking = [f"{name}: {_count(number, 'question')} not answered." for name, number in facts.sites_unanswered]
    site = facts.site_to_answer
    return Step(
        "Answers for each site",
        "Answered by somebody who knows the site; an answer may stop work there, or hold only to a day.",
        "Answer them",
        _at("site-checklist", site) if site else _at("sites"),
        lacking,
        "all answered" if facts.questions and facts.sites and not lacking else "",
        is_optional=not facts.questions,
        waits_for="" if facts.sites else "Sites",
    )


def _rates(facts: Facts, today: date) -> list[Step]:
    load = Step(
        "Methods and a rate book",
        "Which ways of working there are and how many hours they take. The reference ones each name their source; a "
        "row from memory or invented says so. They come as a draft that you look through before it is put in force.",
        "Load the reference methods and rates" if not facts.methods else "Methods",
        _at("setup-reference") if not facts.methods else _at("setup-methods") or _at("rate-books"),
        [] if facts.methods and facts.books else ["No methods and no rate book yet."],
        ", ".join(filter(None, (_count(facts.methods, "method"), _count(facts.books, "rate book")))),
        posts=not facts.methods and not facts.books,
    )
    rates = Step(
        "Standard rates",
        "What an hour of each labor role costs, with taxes and benefits: your own figures, from your payroll.",
        "Set the rates",
        _at("setup-rates"),
        [f"{name} has no rate." for name in facts.roles_unrated] or ([] if facts.roles else ["No labor role yet."]),
        _count(facts.roles, "role"),
        waits_for="" if facts.roles else "Methods and a rate book",
    )
    return [load, rates, _in_force(facts)]


def _in_force(facts: Facts) -> Step:
    book = facts.draft_book
    waits = "Methods and a rate book" if not facts.books else "Standard rates" if facts.roles_unrated else ""
    return Step(
        "A rate book in force",
        "Estimates use the book in force. Look the draft through: its rows, their sources and its warnings.",
        "Review and put in force",
        _at("rate-book", book) if book else _at("rate-books"),
        [] if facts.in_force else ["No rate book is in force for staff crews."],
        "in force" if facts.in_force else "",
        waits_for=waits,
    )


def _people(facts: Facts) -> list[Step]:
    waits = "" if facts.roles else "Methods and a rate book"
    people = Step(
        "People",
        "Who works on the ground.",
        "Add people",
        _at("setup-person-new") if not facts.people else _at("setup-people"),
        [] if facts.people else ["Nobody yet."],
        _count(facts.people, "person", "people"),
        waits_for=waits,
    )
    licenses = Step(
        "Licenses and trainings",
        "Without a licensed person no crew is planned for herbicide. Work by hand needs none.",
        "Say what people may do",
        _at("setup-people"),
        [] if facts.qualifications else ["Nobody holds a license or training on record."],
        _count(facts.qualifications, "qualification"),
        is_optional=True,
    )
    crews = Step(
        "Crews",
        "Who goes out together, on which weekdays and for how many hours.",
        "Add a crew" if not facts.crews else "Crews",
        _at("setup-crew-new") if not facts.crews else _at("setup-crews"),
        [] if facts.crews_with_people else ["No crew has people on it yet."],
        _count(facts.crews, "crew"),
        waits_for=waits or ("" if facts.people else "People"),
    )
    return [people, licenses, crews]


def _supplies(facts: Facts) -> list[Step]:
    return [
        _herbicide(facts),
        Step(
            "Equipment",
            "What crews share, such as saws and sprayers: no more of it is planned for one day than there is.",
            "Equipment",
            _at("setup-equipment"),
            [] if facts.equipment else ["None on record: it limits nothing."],
            _count(facts.equipment, "kind"),
            is_optional=True,
        ),
        _funds(facts),
    ]


def _herbicide(facts: Facts) -> Step:
    button, address = "Products", _at("products")
    lacking: list[str] = []
    if not facts.mixes:
        lacking = ["No mix yet: an order with herbicide work is not issued."]
        button = "Add a mix" if facts.products else "Add a product"
        address = _at("setup-mix-new") if facts.products else _at("setup-product-new")
    elif facts.mix_unnamed:
        lacking = ["A mix is there that no method is done with."]
        button, address = "Say what it is for", _at("setup-mix", facts.mix_unnamed)
    elif facts.unpriced:
        lacking = [f"{name} has no price: no method that takes it is estimated." for _, name in facts.unpriced]
        of = urlencode({"of": f"product:{facts.unpriced[0][0]}"})
        button, address = "Add a price", f"{_at('setup-price-new')}?{of}"
    has = (_count(facts.products, "product"), _count(facts.mixes, "mix", "mixes"))
    return Step(
        "Products, labels, mixes and prices",
        "Needed for methods with herbicide alone. The label is the law: what it says is entered from the label at "
        "hand, and looked through by a licensed person.",
        button,
        address,
        lacking,
        ", ".join(filter(None, has)),
        is_optional=not facts.unpriced,
    )


def _funds(facts: Facts) -> Step:
    button, address = "Add a fund", _at("money-fund-new")
    if facts.funds and not facts.says_who_pays:
        button, address = "Add a rule", _at("money-rule-new")
    elif facts.funds:
        button, address = "Funds", _at("money-funds")
    lacking = [] if facts.funds else ["No fund yet."]
    lacking += [] if facts.says_who_pays else ["No rule says who pays: each order would be split among funds by hand."]
    return Step(
        "Funds, and who pays",
        "Where the money comes from: an order is issued only when a fund pays it, and a rule says so for all orders at "
        "once. The pages of funds are finance's and the administrator's.",
        button,
        address,
        lacking,
        _count(facts.funds, "fund"),
        is_of_money=True,
    )


def _season(facts: Facts) -> list[Step]:
    season = facts.season
    here = (season.public_id,) if season else ()
    survey = Step(
        "A survey file",
        "The mapped patches, as a geographic file of any common kind; its columns are matched on the page.",
        "Bring a survey in",
        _at("survey-file-new"),
        [] if facts.patches else ["No patch yet."],
        _count(facts.patches, "patch", "patches"),
        waits_for="" if facts.sites and facts.species else "Sites and species",
    )
    estimates = Step(
        "Estimates",
        "Hours and money for each patch by each method that fits.",
        "Make estimates",
        _at("estimates-make") or _at("estimates"),
        [] if facts.estimates else ["Nothing is estimated yet."],
        _count(facts.estimates, "estimate"),
        waits_for="" if facts.patches and facts.in_force else "A survey file and a rate book in force",
    )
    named = Step(
        "A season",
        "From which day to which, and what it may cost.",
        "New season" if not season else "Season",
        _at("season-new") if not season else _at("season", *here),
        [] if season else ["No season yet."],
        season.name if season else "",
    )
    return [survey, estimates, named, *_issuing(facts, here)]


def _by_hand(facts: Facts) -> list[str]:
    """What is recommended asks nobody whether it can be done here."""
    if facts.qualifications and facts.methods_mixed:
        return []
    return [
        "Nobody licensed or no mix is on record: where herbicide is recommended, the page of methods picks the best "
        "without it, or the plan leaves that work out."
    ]


def _issuing(facts: Facts, here: tuple[object, ...]) -> list[Step]:
    seasons = _at("seasons")
    return [
        Step(
            "Choose what is done",
            "A method for each patch of the season: what is recommended, or your own choice with its reason.",
            "Choose",
            (_at("prescribe", *here) if here else "") or seasons,
            [] if facts.prescriptions else ["Nothing is chosen yet.", *_by_hand(facts)],
            _count(facts.prescriptions, "treatment chosen", "treatments chosen"),
            waits_for="" if facts.estimates and here else "Estimates and a season",
        ),
        Step(
            "Plan, and accept the plan",
            "Days and crews for what was chosen; what does not fit is told with its reason.",
            "Plan",
            _at("season-plans", *here) if here else seasons,
            [] if facts.plans_accepted else ["No plan is accepted yet."],
            "accepted" if facts.plans_accepted else "",
            waits_for="" if facts.prescriptions and facts.crews_with_people else "Choices and crews",
        ),
        Step(
            "Issue the orders",
            "Each order goes to its crew, when the site's checklist, licenses and labels allow.",
            "Orders",
            _at("orders"),
            [] if facts.issued else ["No order is issued yet."],
            _count(facts.issued, "order issued", "orders issued"),
            waits_for="" if facts.plans_accepted else "An accepted plan",
        ),
    ]
