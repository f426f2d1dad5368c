"""The pesticide supervisor's guide: labels, who may apply, records, and what was done outside a limit."""

from orders.common.models.user import PESTICIDE_SUPERVISOR
from orders.desk.guide.parts import Guide, Link, Mark, Picture, Place, Step

A_PRODUCT = Place("/products/", ("main tbody th a",))
A_RECORD = Place("/records/", ("main tbody th a",))

START = Step(
    code="start",
    name="See what needs you",
    why="Labels due for review, licenses that end, records that are owed: each has a day after which it is late.",
    how=(
        "“Needs you” on Start lists them, the most pressing first.",
        "Watch shows who is out and how orders go; a crew that is not back stands in a strip above every page.",
    ),
    links=(Link("Start", "signpost"), Link("Watch", "watch"), Link("Reminders", "reminders")),
    about=("search", "deadlines", "reminder-settings"),
    picture=Picture(
        name="supervisor-start",
        alt="The supervisor’s start page: orders behind, licenses that end, labels due for review.",
        place=Place("/"),
        marks=(
            Mark("heading", "Needs you", "The most pressing first."),
            Mark("link", "Help", "From any page to the part that is about it."),
        ),
        top="body",
        height=640,
    ),
)
LABELS = Step(
    code="labels",
    name="Keep what the labels say",
    why="The program refuses what its reviewed copy of a label forbids. So the copy must be right, and dated.",
    how=(
        "“Change what the label says” on a product’s page takes limits with their figure, kind and source.",
        "Keep the label itself with “Add a document”; crews read it on the tablet.",
        "When all is as the container says, “Review it”. A product without a review is refused at issue.",
        "Of three kinds of limit nobody lets the mandatory one pass; the other two give way to a name and a reason.",
        "What the program no longer uses is taken out of use where its label is changed: no order goes out with it.",
    ),
    links=(Link("Products", "products"), Link("Add a product", "setup-product-new")),
    about=("product", "setup-product", "setup-product-review", "setup-product-document"),
    picture=Picture(
        name="supervisor-product",
        alt="An invented product’s page: buttons to change and review its label data, and what the label says.",
        place=A_PRODUCT,
        marks=(
            Mark("link", "Review it", "With your name and the day."),
            Mark("link", "Add a document", "The label as a file."),
            Mark("heading", "The label", "Number, signal word, states, where it may be used."),
        ),
    ),
    places=(A_PRODUCT,),
    caution="The label on the container is the law. Local rules and a licensed person decide; this program does not.",
)
MIXES = Step(
    code="mixes",
    name="Set mixes, check the arithmetic",
    why="A mix is entered once and held to the label everywhere: on estimates, orders and the tablet.",
    how=(
        "“Add a mix” names products, strength, carrier and tank.",
        "Sprayer and mix calibrates on a plot or a course, and works out loads and acid equivalent, step by step.",
    ),
    links=(Link("Mixes", "setup-mixes"), Link("Sprayer and mix", "mixing")),
    about=("setup-mix", "setup-mix-new", "setup-mix-load"),
    picture=Picture(
        name="supervisor-mixing",
        alt="The calculation sheet for calibrating a sprayer on a plot, with fields for what was measured.",
        place=Place("/mixing/"),
        marks=(
            Mark("link", "Mix by percent", "Another sheet, for a tank load."),
            Mark("field", "Caught, fl oz", "What the nozzle gave."),
            Mark("button", "Calculate", "Shows every step, to be done again with a pencil."),
        ),
        height=740,
    ),
)
PEOPLE = Step(
    code="people",
    name="Know who may apply",
    why="No order is issued to a crew that may not do its work on that day, in that state.",
    how=(
        "People lists licenses and trainings with the day they end, and who supervises whom.",
        "Volunteers apply only where a permit names them. “Add a permit” keeps its terms.",
    ),
    links=(
        Link("People", "setup-people"),
        Link("Crews", "setup-crews"),
        Link("Volunteers’ permits", "setup-permits"),
    ),
    about=("setup-person", "setup-crew", "setup-qualification", "setup-permit", "setup-permit-new"),
    picture=Picture(
        name="supervisor-people",
        alt="People with their crew, what they may do, what ends next and who supervises them.",
        place=Place("/setup/people/"),
        marks=(
            Mark("columnheader", "May do", "Licenses and trainings that hold today."),
            Mark("columnheader", "Ends next", "The one to renew first."),
            Mark("columnheader", "Supervised by", "For technicians under direct supervision."),
        ),
    ),
    places=(Place("/setup/permits/"),),
)
OWED = Step(
    code="owed",
    name="See that records are signed in time",
    why="Each use of herbicide owes a record, by a day that the rule of its state sets.",
    how=(
        "“Records that are owed” lists what is not signed or lacks something, with the day it is due.",
        "Call the applicator: only who was responsible signs, on the tablet.",
    ),
    links=(Link("Records owed", "records-owed"),),
)
RECORDS = Step(
    code="records",
    name="Find and hand out records",
    why="An inspector asks by day, product, site or person, and gets the record as it was signed.",
    how=(
        "Narrow the list, then “This list as CSV”; a record’s own page gives it as PDF, in English or Spanish.",
        "“Place a hold” keeps a record beyond its years, with a reason.",
    ),
    links=(Link("Records", "records"),),
    about=("record",),
    picture=Picture(
        name="supervisor-records",
        alt="Application records with work day, site, applicator, products, and until when each is kept.",
        place=Place("/records/"),
        marks=(
            Mark("field", "Product", "All records of one product."),
            Mark("columnheader", "Due", "By when it must be signed."),
            Mark("columnheader", "Kept until", "Longer where a hold lies on it."),
        ),
        height=640,
    ),
    places=(A_RECORD,),
)
RULES = Step(
    code="rules",
    name="Review the rules on records",
    why="Each state’s rule is a dated row with its source. It counts as reviewed only with a licensed person’s name.",
    how=(
        "Read a row against its source and set your review on it; what the source did not say is told as not found.",
        "Field policy holds the program’s own limits, such as how late a check-in may be.",
    ),
    links=(Link("Rules on records", "record-rules"), Link("Field policy", "field-policy")),
    about=("record-rule",),
)
FLAGS = Step(
    code="flags",
    name="Settle flags and incidents",
    why="What was done outside a limit is recorded all the same, and flagged at once for somebody to see to.",
    how=(
        "Open the flag, read what was entered on the tablet, and settle it with a word of why.",
        "Incidents keep who was told and what was done. The emergency card comes first; entering it comes later.",
        "“Posted signs” on Field tells which treated areas still have their signs up.",
    ),
    links=(Link("Flags", "flags"), Link("Incidents", "incidents"), Link("Field", "out-now")),
    about=("flag", "incident", "day-sheets", "order"),
)

SUPERVISOR_GUIDE = Guide(
    code="pesticide-supervisor",
    role=PESTICIDE_SUPERVISOR,
    name="Pesticide supervisor",
    intro="Labels, mixes, who may apply, the records that the law asks for, and what was outside a limit.",
    login="supervisor",
    steps=(START, LABELS, MIXES, PEOPLE, OWED, RECORDS, RULES, FLAGS),
)
