"""The crew lead's guide: a day with the tablet, with and without a signal."""

from orders.common.models.user import CREW_LEAD
from orders.desk.guide.parts import Guide, Link, Mark, Picture, Place, Step

TODAY = Place("/tablet/#/", tablet=True)
ORDER = Place("/tablet/#/", ("h3 a",), tablet=True)

CODE = Step(
    code="code",
    name="Make the tablet known",
    why="A tablet is known by a code that works once. From then on it opens by your PIN, without a signal.",
    how=(
        "Ask the office for a code: 8 letters and digits, good for one day.",
        "Open the tablet’s page while there is a connection, type the code and press “Use the code”.",
        "Choose a PIN of four digits or more. What you do on the tablet is signed with your name: keep the PIN to "
        "yourself, and lock the tablet when you hand it on.",
    ),
    about=(),
    picture=Picture(
        name="lead-code",
        alt="The tablet asks for the code from the office, in English or Spanish.",
        place=Place("/tablet/#/enroll", tablet=True),
        marks=(
            Mark("field", "Code from the office", "Spaces do not matter."),
            Mark("button", "Español", "The app speaks both languages."),
            Mark("button", "Use the code", "The one step that needs a connection."),
        ),
        top="body",
        height=768,
    ),
)
DAY = Step(
    code="day",
    name="See your orders",
    why="All that your crews have to do is on the tablet, with maps and labels, before you leave.",
    how=(
        "The first screen lists orders by day. Touch an order’s name to open it.",
        "The bar at the top always says what is saved, what waits to be sent, and whether the office is in reach.",
        "At a desk the same orders stand under Work orders; orders of other crews are not shown to you.",
    ),
    links=(Link("Start", "signpost"), Link("Work orders", "orders"), Link("Sites", "sites")),
    about=("order", "site", "search", "reminders", "reminder-settings"),
    picture=Picture(
        name="lead-day",
        alt="The tablet’s first screen: one order for the day, and links to time, mixes, records and the day sheet.",
        place=TODAY,
        marks=(
            Mark("link", "Brief", "What to do, where, and with what."),
            Mark("link", "Work", "Begin and end the work, patch by patch."),
            Mark("link", "Check in or out", "So that somebody knows where you are."),
            Mark("button", "Lock", "Whenever you put the tablet down."),
        ),
        top="body",
        height=768,
    ),
)
BRIEF = Step(
    code="brief",
    name="Read the order, brief the crew",
    why="Everybody hears the hazards of the day before the first cut, and it is written down that they did.",
    how=(
        "“In short” has the days, hours and weather limits; “Way in” how to get there and who opens the gate.",
        "Go through “Who may do what”: who may apply herbicide, and who may run a saw.",
        "“Tailgate briefing” keeps who heard it. “Emergency” works without a signal: show it to everybody.",
    ),
    links=(Link("Packets for paper", "packet-bundle"),),
    about=("order-print", "packet"),
    picture=Picture(
        name="lead-order",
        alt="An order on the tablet, with its facts in short, the way in, and links to map, work and emergency.",
        place=ORDER,
        marks=(
            Mark("link", "Map", "Patches, gates and hazards, without a signal."),
            Mark("link", "Emergency", "Numbers, address for the ambulance, nearest hospital."),
            Mark("heading", "In short", "Days, hours, limits of the weather."),
        ),
        top="body",
        height=700,
    ),
    places=(ORDER,),
    caution="Nobody works alone out of reach without a check-in. In an emergency call for help first; enter it later.",
)
CHECK_IN = Step(
    code="check-in",
    name="Check in, and say when you are back",
    why="If you are not back by your own word, the office looks for you.",
    how=(
        "On “Check in or out” choose the site and the hour of your return.",
        "Staying longer? Say so there before the hour is over. Check out when all are at the truck.",
        "The desk shows the same under Field.",
    ),
    links=(Link("Field", "out-now"),),
    about=("field-policy",),
    places=(TODAY,),
)
WORK = Step(
    code="work",
    name="Do the work and keep the time",
    why="Hours by person and patch are what pay, cost and next season’s rates come from.",
    how=(
        "“Go to work” begins the order. Start and stop the timer, or type hours at the end: both are fine.",
        "Report what is not as the order says: a patch that is bigger, a closed gate, a plant that is new here. "
        "“New detection” takes a place and a photo.",
    ),
    links=(Link("Flags", "flags"),),
    about=("flag",),
    places=(ORDER,),
)
SPRAY = Step(
    code="spray",
    name="Mix, measure the weather, apply",
    why="Each mix and each application is a fact of its own; the record is made from them.",
    how=(
        "“Mixes” takes who mixed, what, how much and when. The tablet shows the label’s limits, and stops there.",
        "Measure wind and temperature before you apply and enter them; limits that are passed are told at once.",
        "To calibrate a sprayer or check a tank load, use Sprayer and mix at the desk.",
    ),
    links=(Link("Sprayer and mix", "mixing"), Link("Products", "products"), Link("Mixes", "setup-mixes")),
    about=("product",),
    places=(TODAY,),
    caution="Read the label and wear what it asks for. The label, local rules and a licensed person decide.",
)
RECORD = Step(
    code="record",
    name="Sign the application record",
    why="The law asks for a record of each application, complete and in time, whatever becomes of the order.",
    how=(
        "“Records” lists one for each mix, place, day and responsible applicator. Most of it is filled in.",
        "Fill in what is missing and sign. What was signed stays; a correction is another revision.",
        "At the desk, Records shows all of yours, and what is still owed.",
    ),
    links=(
        Link("Records", "records"),
        Link("Records owed", "records-owed"),
        Link("Rules on records", "record-rules"),
    ),
    about=("record", "record-rule"),
    places=(TODAY,),
    picture=Picture(
        name="lead-records",
        alt="The list of application records at the desk, with their day, site, applicator and state.",
        place=Place("/records/"),
        marks=(
            Mark("columnheader", "Signed", "By whom."),
            Mark("columnheader", "Due", "By when it must be signed."),
            Mark("link", "Rules on records", "What a record must hold here."),
        ),
        height=640,
    ),
)
CLOSE = Step(
    code="close",
    name="Close the order",
    why="Closing tells what was done and what was left. What was left becomes work again by itself.",
    how=(
        "“Close order” asks for hours, material, percent done and conditions. Figures from the estimate are marked as "
        "such until you touch them.",
        "Read the review, then confirm with your name. A closed order is corrected by an amendment, never overwritten.",
    ),
    about=("order-close", "order-amend"),
    places=(ORDER,),
)
SHEET = Step(
    code="sheet",
    name="Fill the day sheet, and send",
    why="The day sheet is each person’s whole paid day: orders, drive, shop, rain standby and leave.",
    how=(
        "“Day sheet” adds up what is known; complete it and confirm.",
        "What waits is sent by itself as soon as the office is in reach. The bar counts it; nothing is lost by "
        "switching off.",
        "Far from a signal for days, open “To be sent” and save a file for the office.",
    ),
    links=(Link("Day sheets", "day-sheets"), Link("My effort", "own-effort"), Link("Incidents", "incidents")),
    about=("effort-statement", "incident"),
    picture=Picture(
        name="lead-unsent",
        alt="The tablet’s screen of what is to be sent: all has been sent, and the office is in reach.",
        place=Place("/tablet/#/unsent", tablet=True),
        marks=(
            Mark("heading", "To be sent", "What waits, and how long already."),
            Mark("button", "Send now", "Tries at once."),
        ),
        top="body",
        height=768,
    ),
    places=(TODAY,),
)

LEAD_GUIDE = Guide(
    code="crew-lead",
    role=CREW_LEAD,
    name="Crew lead",
    intro="A day with the tablet, from the first look at the orders to the day sheet, with and without a signal.",
    login="lead.hollow",
    steps=(CODE, DAY, BRIEF, CHECK_IN, WORK, SPRAY, RECORD, CLOSE, SHEET),
)
