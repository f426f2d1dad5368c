"""The guide of finance: what it cost, who pays, and the months that two people close."""

from orders.common.models.user import FINANCE
from orders.desk.guide.parts import Guide, Link, Mark, Picture, Place, Step

A_REPORT = Place("/money/reports/cost/")

COST = Step(
    code="cost",
    name="See what it cost",
    why="The same total whichever way it is cut: by site, fund, method, crew or month, planned beside actual.",
    how=(
        "Choose the cut, a season and a fund; the address keeps what you chose, so that it can be passed on.",
        "A figure opens the rows behind it. Rows are never changed: a correction is a row of its own.",
        "“Download CSV” gives what is shown.",
    ),
    links=(Link("Planned and actual", "cost-report"), Link("Start", "signpost"), Link("Seasons", "seasons")),
    about=("cost-rows", "search", "season", "reminders"),
    picture=Picture(
        name="finance-cost",
        alt="Costs by site: planned, actual and their difference in a table, with the cuts above it.",
        place=Place("/reports/costs/"),
        marks=(
            Mark("link", "Posting month", "One of the ways to cut the total."),
            Mark("field", "Fund", "One fund, or all."),
            Mark("columnheader", "Difference", "Actual less planned."),
        ),
        height=760,
    ),
)
REPORTS = Step(
    code="reports",
    name="Take reports, as page or file",
    why="Each report answers one question, with its chart, and proves its figures by the rows behind them.",
    how=(
        "Pick a report by what it answers, and narrow it.",
        "“CSV”, “XLSX” and “PDF” make a file of it; files are kept with their fingerprint under Files.",
        "“Save view” keeps the question under a name, “Schedule” mails it.",
    ),
    links=(
        Link("All reports", "reports"),
        Link("Saved views", "report-views"),
        Link("Mailed reports", "report-schedules"),
        Link("Files", "report-exports"),
    ),
    about=("report", "report-rows", "view-save", "schedule-new", "report-schedule"),
    picture=Picture(
        name="finance-report",
        alt="One report: the question at the top, the figures as a table, and buttons for files of it.",
        place=A_REPORT,
        marks=(
            Mark("field", "Cut by", "What each row is."),
            Mark("field", "And by", "A second cut across."),
            Mark("columnheader", "Planned", "What issued orders were planned to cost."),
        ),
        height=640,
    ),
)
FUNDS = Step(
    code="funds",
    name="Keep funds, awards and who pays",
    why="An award’s terms say what it may be charged. A charge that they do not allow waits; it is not lost.",
    how=(
        "“Add a fund”, then its budget; “Budgets from a file” takes many at once.",
        "Each award has its terms by date. The desk refuses what its terms forbid.",
        "“Add a rule” says who pays what no hand has split. The first rule that fits counts.",
        "Under Waiting charges decide each one: another fund, or a reason.",
    ),
    links=(Link("Funds", "money-funds"), Link("Waiting charges", "held-charges")),
    about=(
        "money-fund",
        "money-award",
        "money-rule",
        "money-rule-new",
        "money-budget",
        "order-split",
        "money-term-new",
    ),
    picture=Picture(
        name="finance-funds",
        alt="Funds with their budget, what is spent, what is committed and what is left.",
        place=Place("/money/funds/"),
        marks=(
            Mark("columnheader", "Committed", "Issued orders and open purchase orders."),
            Mark("columnheader", "Left", "Budget less spent and committed."),
            Mark("link", "Add a fund", "A new fund, and then its award."),
        ),
        height=740,
    ),
)
BUYING = Step(
    code="buying",
    name="Buy, and pay bills",
    why="A purchase order holds money back, its bill spends it, and what is not billed is let go.",
    how=(
        "“New purchase order” begins as a draft; another look approves it. Void a wrong draft and enter it anew.",
        "“New bill” names the lines that it bills. Approve it, then say when it was paid.",
    ),
    links=(Link("Purchase orders", "purchases"), Link("Bills", "bills")),
    about=("purchase", "purchase-new", "bill", "bill-new", "vendor-new"),
    places=(Place("/money/bills/"),),
)
STOCK = Step(
    code="stock",
    name="Keep the stock",
    why="Close-outs draw product from lots. What is on hand, and what it is worth, is the sum of its movements.",
    how=(
        "“Receive a lot” when it comes; “Count or write off” when the shelf says otherwise.",
        "“What to buy” lists what open orders take beyond the stock.",
        "Machine hours and trips are entered under Equipment and trips.",
    ),
    links=(Link("Stock", "stock-value"), Link("Equipment and trips", "equipment-hours")),
    about=("stock-receive", "stock-count", "purchase-list", "hours-new", "trip-new"),
)
PAY = Step(
    code="pay",
    name="Set pay and follow overtime",
    why="Actual cost comes from each person’s rate on the day. Nobody but finance sees a rate.",
    how=(
        "“Set a rate” from a day on. Days that are posted already are posted anew.",
        "“Overtime” opens each workweek line by line. Rules differ by state: a payroll professional decides.",
        "“Try a week” answers what a week would cost before anybody works it.",
    ),
    links=(
        Link("Rates of pay", "pay"),
        Link("Rules", "pay-rules"),
        Link("Overtime", "overtime"),
        Link("Try a week", "try-week"),
        Link("Time off", "comp-time"),
        Link("Match", "match-rates"),
    ),
    about=("pay-new", "overtime-week", "pay-policy-new", "overtime-rule-new"),
    picture=Picture(
        name="finance-overtime",
        alt="Workweeks with overtime: the person, hours worked, overtime hours and the premium.",
        place=Place("/money/overtime/"),
        marks=(
            Mark("field", "Person", "One person’s weeks."),
            Mark("columnheader", "Premium", "What the week cost beyond straight time."),
            Mark("columnheader", "Time off instead", "Where an agreement says so."),
        ),
        height=560,
    ),
)
PAYROLL = Step(
    code="payroll",
    name="Hand hours to payroll",
    why="Hours are told once. What changes after that goes as a difference with the next file.",
    how=(
        "Open a pay period with “Open it”; see to the problems that it names.",
        "Take its file, then lock it. What payroll paid comes back as a file and is compared.",
    ),
    links=(Link("Payroll", "payroll"),),
    about=("pay-period", "pay-period-changes", "pay-period-export"),
)
EFFORT = Step(
    code="effort",
    name="Get effort statements signed",
    why="Whoever is paid from an award says that the shares of their time are true. A supervisor confirms.",
    how=(
        "“Make what is missing or out of date” for a span of days; each person signs their own page.",
        "A statement whose hours changed after it was signed is out of date, and says so.",
    ),
    links=(Link("Effort", "money-effort"), Link("My effort", "own-effort")),
    about=("effort-statement",),
)
MONTH = Step(
    code="month",
    name="Close the month, two of you",
    why="A closed month stays as it was. One person asks, another confirms, and the books are proven first.",
    how=(
        "Work through “Before it is closed”; each line leads to what it asks for.",
        "“Run the proof now”. A proof that is not good says which rows, and the month stays open.",
        "“Ask to close it”; somebody else confirms. “Make the package” hands it over with all its files.",
        "“Make the next journal” is for the accounts outside, by the codes that you gave them.",
    ),
    links=(Link("Months", "months"), Link("Proofs", "proofs"), Link("Outer accounts", "mappings")),
    about=("month", "proof", "mapping"),
    picture=Picture(
        name="finance-month",
        alt="A month before it is closed: the list of what is to be looked at, with what is done already.",
        place=Place("/money/months/", ("main tbody th a",)),
        marks=(
            Mark("heading", "Before it is closed", "Each line leads to what it asks for."),
            Mark("link", "Proofs", "Every check of the ledger that was run."),
        ),
        height=760,
    ),
    places=(Place("/money/months/", ("main tbody th a",)),),
)

FINANCE_GUIDE = Guide(
    code="finance",
    role=FINANCE,
    name="Finance",
    intro="What the season cost, by whom it is paid, and books that two people close.",
    login="finance",
    steps=(COST, REPORTS, FUNDS, BUYING, STOCK, PAY, PAYROLL, EFFORT, MONTH),
)
