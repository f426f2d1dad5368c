"""The administrator's guide: setting the program up, and keeping it running."""

from orders.common.models.user import ADMINISTRATOR
from orders.desk.guide.parts import Guide, Link, Mark, Picture, Place, Step

SETUP = Step(
    code="setup",
    name="Follow the set-up guide",
    why="A new program starts from nothing. The guide knows what is there already, and what the next step needs.",
    how=(
        "The first login is made with the code that the server printed at its first start.",
        "“Needed steps done” counts what orders cannot be issued without. Optional steps can wait.",
        "Rates, methods and rules can be loaded as reference data; each names its source, and waits for your review.",
    ),
    links=(Link("Set-up guide", "setup"), Link("Start", "signpost")),
    about=("setup-reference", "search", "setup-rates"),
    picture=Picture(
        name="administrator-setup",
        alt="The set-up guide: how many needed steps are done, what is next, and the steps in their order.",
        place=Place("/setup/"),
        marks=(
            Mark("text", "Needed steps done", "Seen in the data; nothing is ticked by hand."),
            Mark("heading", "The program", "Steps of one kind stand together."),
        ),
        height=680,
    ),
    places=(Place("/setup/"),),
)
LOGINS = Step(
    code="logins",
    name="Give logins and roles",
    why="A role opens pages and addresses of the API alike. Nobody should have more than their work needs.",
    how=(
        "“Add a login” with a password for the first time; its owner must choose another at once.",
        "Link the login to a person, so that orders and records know who it is.",
        "A login that is not needed any more is closed; what was done with it stays.",
    ),
    links=(Link("Logins", "setup-users"), Link("Add a login", "setup-user-new")),
    about=("setup-user", "setup-user-password", "setup-password"),
    picture=Picture(
        name="administrator-logins",
        alt="Logins with their roles, the person behind each, mail address and last login.",
        place=Place("/setup/logins/"),
        marks=(
            Mark("columnheader", "Roles", "What the login opens."),
            Mark("columnheader", "Person", "Who it is, among crews and applicators."),
            Mark("columnheader", "Last login", "When it was used last."),
        ),
    ),
)
PEOPLE = Step(
    code="people",
    name="Enter people and what they may do",
    why="Licenses and trainings end. The planner and the guards ask for the day of the work, not for today.",
    how=(
        "“Add a person” with a labor role; then their licenses and trainings, with the last day of each.",
        "“Qualification kinds” and “Roles and rates” hold the words and the standard rates.",
    ),
    links=(
        Link("People", "setup-people"),
        Link("Qualification kinds", "setup-kinds"),
        Link("Roles and rates", "setup-roles"),
    ),
    about=("setup-person", "setup-person-new", "setup-person-edit", "setup-qualification", "setup-kind", "setup-role"),
)
CREWS = Step(
    code="crews",
    name="Make crews, keep days off",
    why="A plan counts on who is there. A day off that is not known becomes a visit that nobody makes.",
    how=(
        "A crew has a lead, people by date, hours a day and days of the week.",
        "On Availability choose “Who is off”, first and last day; or mark days in the table.",
    ),
    links=(Link("Crews", "setup-crews"), Link("Availability", "setup-absences")),
    about=("setup-crew", "setup-crew-new", "setup-member", "setup-absence"),
    picture=Picture(
        name="administrator-availability",
        alt="A month of availability: crews and people down the side, days across, with days off marked.",
        place=Place("/setup/availability/"),
        marks=(
            Mark("link", "Month after", "Another month."),
            Mark("heading", "Who is there", "Mark cells with a finger, the mouse or the arrow keys."),
        ),
        height=640,
    ),
)
PLACES = Step(
    code="places",
    name="Describe the places",
    why="A site’s calendar, closures, checklist and emergency plan decide when work may be done, and how help comes.",
    how=(
        "“Add a site”, with its jurisdiction, drive and boundary; then its emergency plan.",
        "“Checklist” holds questions that each site answers, such as rare plants; an open answer stops an issue.",
        "Calendar records and closures are on each site’s own page.",
    ),
    links=(
        Link("Places", "setup-sites"),
        Link("Jurisdictions", "setup-jurisdictions"),
        Link("Checklist", "setup-questions"),
        Link("Growth forms", "setup-growth-forms"),
        Link("Sites", "sites"),
        Link("Species", "setup-species"),
    ),
    about=(
        "setup-site",
        "setup-site-new",
        "setup-question",
        "setup-species-one",
        "site",
        "site-emergency",
        "site-weather",
    ),
    picture=Picture(
        name="administrator-places",
        alt="Sites with their jurisdiction, drive, time zone, emergency plan and checklist.",
        place=Place("/setup/sites/"),
        marks=(
            Mark("columnheader", "Emergency plan", "No crew should go where there is none."),
            Mark("columnheader", "Checklist", "How many questions are answered."),
            Mark("link", "Jurisdictions", "Whose rules hold there."),
        ),
    ),
)
METHODS = Step(
    code="methods",
    name="Keep methods, products and prices",
    why="Estimates come from methods and rates, mixes and prices, each with its source and its day.",
    how=(
        "A method names its season, the license it needs, its mix and equipment; chains say what follows it.",
        "Rates live in rate books. A draft changes nothing until it is put in force.",
        "“Set a price” from a day on; older estimates keep the prices that they were made with.",
    ),
    links=(
        Link("Methods", "setup-methods"),
        Link("Chains", "setup-chains"),
        Link("Rate books", "rate-books"),
        Link("Products", "products"),
        Link("Prices", "setup-prices"),
        Link("Equipment", "setup-equipment"),
    ),
    about=("setup-method", "setup-chain", "setup-price", "setup-price-new", "setup-equipment-one", "setup-product"),
    places=(Place("/setup/prices/"),),
)
TABLETS = Step(
    code="tablets",
    name="Give out tablets, and take them back",
    why="A tablet is trusted as a device. A lost one must be told so, and what it had not sent must not be lost.",
    how=(
        "“Make the code” for a person; it works once, for a day, and can be shown as a picture to be photographed.",
        "A lost tablet is revoked here: its orders vanish at its next contact; unsent work stays on it.",
        "A file that a lead saved on a tablet comes in under “Bring in a file of unsent work”.",
    ),
    links=(Link("Tablets", "tablets"),),
    about=("tablet",),
    picture=Picture(
        name="administrator-tablets",
        alt="Tablets with the people on them, their last contact, and what waits there; below, the code for a new one.",
        place=Place("/tablets/"),
        marks=(
            Mark("columnheader", "Last contact", "When it last spoke to the office."),
            Mark("columnheader", "Waiting there", "What it said that it has not sent."),
            Mark("field", "For whom", "The login that the code is for."),
            Mark("button", "Make the code", "Shown once."),
        ),
        height=960,
    ),
)
POLICY = Step(
    code="policy",
    name="Set reminders and policy",
    why="Who is told of what, and how early, is the program’s to decide. So are check-ins and limits in the field.",
    how=(
        "“Schedule of reminders” has a list of steps for each kind of deadline: when it comes, and whom it tells.",
        "Field policy says how late a crew may be before somebody is called.",
        "Funds, awards and closing are with finance.",
    ),
    links=(
        Link("Reminder schedule", "reminder-schedule"),
        Link("Field policy", "field-policy"),
        Link("Rules on records", "record-rules"),
        Link("Funds", "money-funds"),
    ),
    about=("reminder-step", "reminders"),
)

ADMINISTRATOR_GUIDE = Guide(
    code="administrator",
    role=ADMINISTRATOR,
    name="Administrator",
    intro="Setting the program up, giving people their way in, and keeping it running.",
    login="administrator",
    steps=(SETUP, LOGINS, PEOPLE, CREWS, PLACES, METHODS, TABLETS, POLICY),
)
