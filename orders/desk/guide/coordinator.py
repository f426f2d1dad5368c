"""The program coordinator's guide: from a survey to a season that runs, and what the next one learns."""

from orders.common.models.user import COORDINATOR
from orders.desk.guide.parts import Guide, Link, Mark, Picture, Place, Step

SEASON_PLANS = Place("/seasons/", ("main tbody th a", "main a:text-is('Plans')"))
A_PLAN = Place("/seasons/", ("main tbody th a", "main a:text-is('Plans')", "main tbody th a"))
A_PATCH = Place("/patches/", ("main tbody th a",))

START = Step(
    code="start",
    name="Begin the day at Start",
    why="What cannot wait comes first: late crews, flags from tablets, orders that are behind, records and deadlines.",
    how=(
        "Read “Needs you” from the top. Each card opens the list behind it, already narrowed to what waits.",
        "“Watch it run” and “Board” lead on to the season that runs.",
        "To find anything by its name or number, press the slash key on any page and type.",
        "Reminders are answered on their own page; there you also get a calendar of your deadlines.",
    ),
    links=(Link("Start", "signpost"), Link("Search", "search"), Link("Reminders", "reminders")),
    about=("deadlines", "reminder-settings"),
    picture=Picture(
        name="coordinator-start",
        alt="The start page on a day in December: cards of what waits on the left, the season’s state beside them.",
        place=Place("/"),
        marks=(
            Mark("heading", "Needs you", "What waits for you, the most pressing first."),
            Mark("link", "Help", "From any page to the part that is about it."),
            Mark("button", "Log out", "Log out when somebody else uses this computer."),
        ),
        top="body",
    ),
)
SURVEY = Step(
    code="survey",
    name="Bring a survey in",
    why="Everything starts from patches as somebody saw them. A file of unknown origin is matched once, and kept so.",
    how=(
        "Press “Bring a file in” and drop the file: GeoPackage, zipped Shapefile, GeoJSON or CSV.",
        "Match its columns. Suggestions are made and shown with the first rows; nothing is guessed in silence.",
        "Look at the preview on the map and at what will change. Rows with errors are named one by one, and can be had "
        "as a file. Only then take it in.",
        "An import can be undone as long as nobody built on it. “Surveys as a file” gives the same out again.",
    ),
    links=(
        Link("Survey files", "survey-files"),
        Link("Bring a file in", "survey-file-new"),
        Link("Surveys as a file", "survey-export"),
    ),
    about=("survey-file", "survey-file-look", "survey-import", "survey-mappings"),
    picture=Picture(
        name="coordinator-survey",
        alt="The list of survey files that were handed in, with their state and how many rows each added.",
        place=Place("/surveys/"),
        marks=(
            Mark("link", "Bring a file in", "Begin here with a new file."),
            Mark("link", "Surveys as a file", "GeoJSON, GeoPackage, CSV, or Darwin Core terms."),
            Mark("link", "Saved matches", "How columns of a sender’s files were matched before."),
            Mark("columnheader", "State", "Taken, refused or undone; the file’s name opens the rest."),
        ),
        height=430,
    ),
)
PATCH = Step(
    code="patch",
    name="Draw a patch, or see to one",
    why="Some patches come by telephone. A patch also changes: it is split, merged, surveyed again, or set to rest.",
    how=(
        "“New patch” takes an outline drawn on the map, typed as a table of corners, or read from text; its area is "
        "shown as you draw.",
        "On a patch’s own page “New survey” adds what was seen on a day. Surveys are never overwritten.",
        "“Split”, “Merge with others” and “What is wanted” change the patch; each can be undone.",
        "The strip under “Over the years” shows how its cover went.",
    ),
    links=(Link("Patches", "patches"), Link("New patch", "patch-new")),
    about=(
        "patch",
        "patch-change",
        "survey-new",
        "survey-correct",
        "patch-split",
        "patch-merge",
        "patch-photos",
    ),
    picture=Picture(
        name="coordinator-patch",
        alt="The page of one patch: its last survey, and buttons for a new survey, split, merge and photos.",
        place=A_PATCH,
        marks=(
            Mark("link", "New survey", "What was seen on another day."),
            Mark("link", "What is wanted", "Target cover, control state, name."),
            Mark("link", "Split", "One outline becomes several; the history stays."),
            Mark("link", "Photos", "Pictures of the patch, by day."),
        ),
    ),
)
MAP = Step(
    code="map",
    name="See all of it on the map",
    why="Where it is thick, where the seed deadline is near, what is chosen and what is not: one look, one measure.",
    how=(
        "Choose what the colors mean at the top: “Cover”, “Seed deadline”, “Chosen method” and more.",
        "“Mark” or “Mark by box” picks patches on the map; the list beside it marks the same ones.",
        "With the marked patches: “Choose methods”, “Merge”, “Export”, or change what is wanted of them.",
    ),
    links=(Link("Map", "map"),),
    picture=Picture(
        name="coordinator-map",
        alt="The map of patches colored by cover, with its legend and the buttons for marking.",
        place=Place("/map/"),
        marks=(
            Mark("link", "Seed deadline", "One of the measures that color the patches."),
            Mark("button", "Mark", "Then a click marks a patch and does not open it."),
            Mark("button", "Mark by box", "Two corners mark all between them."),
        ),
        height=720,
    ),
)
PRESCRIBE = Step(
    code="prescribe",
    name="Choose what is done where",
    why="A method is chosen per patch, from those that fit it, with hours and cost as a range and the reason for each.",
    how=(
        "Pick one method a patch, or press one of the buttons at the head of a column to pick it wherever it fits.",
        "Under “How full” see the season’s hours, money and license hours fill up against what is there.",
        "“Look at what is picked” shows the whole before anything is kept. A batch of choices can be undone later.",
        "Every estimate opens down to each rate and its source, and can be tried with another crew or another mix.",
    ),
    links=(
        Link("Prescribe", "prescribe-now"),
        Link("Choices", "choices"),
        Link("Estimates", "estimates"),
        Link("Make estimates", "estimates-make"),
    ),
    about=("prescribe", "prescribe-review", "prescribe-season", "choice", "estimate", "estimate-try"),
    picture=Picture(
        name="coordinator-prescribe",
        alt="Methods side by side: how full the season gets, and below it a table of patches by methods.",
        place=Place("/seasons/prescribe/"),
        marks=(
            Mark("link", "Estimate patches…", "For patches that have no estimate yet."),
            Mark("heading", "How full 2027 gets", "Hours, money and license hours, as you pick."),
            Mark("button", "Look at what is picked", "Nothing is kept before you confirm there."),
        ),
        height=900,
    ),
)
SEASON = Step(
    code="season",
    name="Set the season’s frame",
    why="Days, money and windows are the walls that the plan is built within.",
    how=(
        "“New season” asks for its days. “Settings” holds its budget, its funds and how careful a plan is.",
        "“Windows” tells for each site and method on which days it may be done, and why not on others.",
        "“Calendar” shows the season as one picture: windows, deadlines, closures and visits.",
    ),
    links=(
        Link("Seasons", "seasons"),
        Link("New season", "season-new"),
        Link("Windows", "season-windows", of_season=True),
        Link("Calendar", "season-calendar", of_season=True),
        Link("Settings", "season-settings", of_season=True),
    ),
    about=("season", "season-edit", "season-fund", "season-fund-new"),
    picture=Picture(
        name="coordinator-season",
        alt="The overview of a season: its total hours and cost, as a range.",
        place=Place("/seasons/", ("main tbody th a",)),
        marks=(
            Mark("link", "Windows", "When each method may be done at each site."),
            Mark("link", "Plans", "Plans that were asked for, side by side."),
            Mark("link", "Settings", "Budget, funds, and how careful a plan is."),
        ),
    ),
)
PLAN = Step(
    code="plan",
    name="Have the season planned, and accept a plan",
    why="The planner places visits by worth and cost within windows, hours, licenses and money, and tells its bound.",
    how=(
        "Open “A new plan”, ask, and watch it get better; you may stop it, and keep the best found by then.",
        "Read what was left out and why: each piece says what would let it in, the cheapest first.",
        "“What if” tries one more crew, less money or no herbicide; what comes of it stands beside the plan.",
        "Accept one plan; visits then stand on the board. Later, “Plan again and move little” keeps what has begun.",
    ),
    links=(Link("Plans", "season-plans", of_season=True),),
    about=("plan", "plan-accept", "plan-compare", "plan-ask", "run-progress"),
    picture=Picture(
        name="coordinator-plan",
        alt="What a plan leaves out: pieces of work counted by reason, with what would let each come in.",
        place=A_PLAN,
        marks=(
            Mark("heading", "Left out of the plan, and why", "Nothing is left out in silence."),
            Mark("columnheader", "Reason", "What keeps the work out."),
            Mark("columnheader", "Would come in by one change each", "The cheapest change that would let it in."),
        ),
        top="section:has(> h2:text-is('Left out of the plan, and why'))",
    ),
    places=(SEASON_PLANS,),
)
BOARD = Step(
    code="board",
    name="Move visits on the board",
    why="A person knows what a plan cannot: who should work together, which gate is locked, what was promised.",
    how=(
        "Drag a visit’s card to another crew or day, or use its Move form. What the move breaks is shown at once.",
        "What nobody may pass (a license, a label, a closure, an empty crew) is refused. What gives way asks for a "
        "reason, which is kept.",
        "Work under “Asked for and not on a day” can be put on a day by hand.",
        "The last move can be taken back.",
    ),
    links=(Link("Board", "board"),),
    about=("season-board", "visit", "visit-move", "visit-off", "work-place"),
    picture=Picture(
        name="coordinator-board",
        alt="The board of one week: crews down the side, days across, a card for each visit.",
        place=Place("/board/"),
        marks=(
            Mark("link", "Week before", "Another week."),
            Mark("field", "Crew", "Only some crews or sites."),
            Mark("columnheader", "Crew", "Crews, with hours against what they can give."),
        ),
        height=720,
    ),
)
ISSUE = Step(
    code="issue",
    name="Issue the orders",
    why="An issued order goes to the crew’s tablets. Before that it is checked: label, checklist, people, funds.",
    how=(
        "Mark orders in the list and press “Issue the marked orders”. What cannot be issued is named, with its reason.",
        "On an order’s own page each reason has its way out: answer the site’s checklist, look at the limits, say "
        "who pays.",
        "An order is never changed after its issue behind the crew’s back: give it to another crew, call a visit off, "
        "or void it, each with a reason.",
        "When paper comes back from the field, “Close it from paper…” on the order takes it in.",
    ),
    links=(Link("Work orders", "orders"), Link("Draft orders", "orders")),
    about=("order", "order-close", "order-amend", "order-act", "site-checklist", "order-split"),
    picture=Picture(
        name="coordinator-orders",
        alt="The list of draft work orders, each with a box to mark it, and the buttons for the marked ones below.",
        place=Place("/orders/?state=draft"),
        marks=(
            Mark("columnheader", "Mark", "Mark those that should go out."),
            Mark("field", "State", "Draft, issued, underway, closed or void."),
            Mark("link", "Clear", "Back to all orders."),
        ),
        height=700,
    ),
    places=(Place("/orders/?state=issued", ("main tbody th a",)),),
    caution="The guards never compute past a label’s limit. The label, local rules and a licensed person decide.",
)
PACKET = Step(
    code="packet",
    name="Print packets for the week",
    why="Paper holds where a tablet does not: map, steps, people, mix and emergency cards, a blank close-out.",
    how=(
        "Choose a crew and a week, then “Print the bundle”; “Look at it first” shows it on the screen.",
        "A packet is in English or Spanish. Each print is an edition; an order that changed since says so.",
    ),
    links=(Link("Packets", "packet-bundle"),),
    about=("packet", "order-print"),
    picture=Picture(
        name="coordinator-packets",
        alt="The packets of one week: orders with their edition, a choice of language, and the button to print.",
        place=Place("/packets/"),
        marks=(
            Mark("field", "Crew", "One crew, or all."),
            Mark("button", "Print the bundle", "One file, in the order of the days."),
            Mark("columnheader", "Printed", "Which edition is out, and whether it still holds."),
        ),
        height=860,
    ),
)
WATCH = Step(
    code="watch",
    name="Watch the season run",
    why="Crews out of reach, seed deadlines without an order, checks that are due: what goes wrong is seen early.",
    how=(
        "“Who is out” refreshes itself; a crew that is late to check in stands in a strip above every page.",
        "“Conflicts to settle” puts what two tablets said side by side; you decide, and the other is kept.",
        "“Seed deadlines” tells which patches must be cut before they fruit, with and without an order.",
        "Flags are questions from the field. Settle each with a word of why.",
    ),
    links=(Link("Watch", "watch"), Link("Field", "out-now"), Link("Flags", "flags"), Link("Day sheets", "day-sheets")),
    about=("flag", "watch-out"),
    picture=Picture(
        name="coordinator-watch",
        alt="The watch page of the season, with links to its parts and who is out.",
        place=Place("/watch/"),
        marks=(
            Mark("link", "Seed deadlines", "What must be cut before it fruits."),
            Mark("button", "Stop refreshing", "The page asks anew by itself until you stop it."),
            Mark("heading", "Conflicts to settle", "Where two statements do not agree."),
        ),
    ),
)
LEARN = Step(
    code="learn",
    name="Learn for the next season",
    why="Closed orders tell what the work really took. The next season’s rates come from them, by your decision.",
    how=(
        "“Accuracy” shows how far estimates were from what was done, by method, crew and site.",
        "“Calibrate” compares a season’s closed orders with their rates and drafts a new rate book.",
        "A draft changes nothing. Look at “Effect on open work, put in force” and at the difference first.",
    ),
    links=(Link("Calibration", "calibration"), Link("Accuracy", "accuracy"), Link("Rate books", "rate-books")),
    about=("calibration-run", "rate-book", "rate-book-difference", "rate-book-effect", "rate-book-changes", "rate-row"),
    picture=Picture(
        name="coordinator-calibration",
        alt="The calibration page: a question for a season and its crews, and what was asked before.",
        place=Place("/calibration/"),
        marks=(
            Mark("button", "Calibrate", "Compares; it changes no rate."),
            Mark("columnheader", "Draft", "The rate book that was drafted from it."),
        ),
        height=480,
    ),
    places=(Place("/rate-books/", ("main tbody th a",)),),
)

COORDINATOR_GUIDE = Guide(
    code="coordinator",
    role=COORDINATOR,
    name="Program coordinator",
    intro="From a survey to a season of work orders that runs, and rates that learn from it.",
    login="coordinator",
    steps=(START, SURVEY, PATCH, MAP, PRESCRIBE, SEASON, PLAN, BOARD, ISSUE, PACKET, WATCH, LEARN),
)
