"""Months, proofs and outer accounts in the states that look different: open, asked, closed, proven, wrong, empty."""

from datetime import date

from tests import build
from tests.build.month_end import MONTH, PROVEN_AT

LONG = "Each minute stated in a standing close-out is posted once"
KEY = "row 1204: time_entry:0b7cf4e2-51aa-4f0e-9d0f-6d1b1c6f6a10:1:88:3:"
BALANCES = {"clear-mileage": -26_830, "clear-payroll": -1_284_400, "cost-labor": 1_284_400, "cost-mileage": 26_830}


def _posted() -> None:
    row = build.LedgerEntryFactory(amount_cents=1_284_400, posting_month=MONTH)
    shared = {"order": row.order, "visit": row.visit, "prescription": row.prescription, "fund": row.fund}
    build.LedgerEntryFactory(**shared, amount_cents=-12_000, posting_month=date(2027, 3, 1))


def _asked(kind: str) -> None:
    state = {"ask_close": "closing", "close": "closed", "ask_reopen": "reopening"}[kind]
    kept = {"balances": BALANCES, "rows_count": 212, "rows_sha256": "5f" * 32, "closed_at": PROVEN_AT}
    period = build.PeriodFactory(state=state, **({} if state == "closing" else kept))
    first = build.UserFactory(username="fay.finch", roles=["finance"])
    build.PeriodStepFactory(period=period, by=first)
    if kind != "ask_close":
        outside = {"outside_name": "P. Sedge", "outside_organization": "Invented Auditors", "outside_how": "By letter"}
        build.PeriodStepFactory(period=period, kind="close", by=first, **outside)
    if kind == "ask_reopen":
        build.PeriodStepFactory(period=period, kind=kind, by=first, reason="A bill of February came on March 9.")


def months() -> str:
    _posted()
    _asked("close")
    build.ProofFactory()
    return "/money/months/"


def months_bad() -> str:
    _posted()
    build.ProofFactory(is_good=False)
    return "/money/months/"


def month() -> str:
    _posted()
    return "/money/months/2027-03/"


def month_asked() -> str:
    _posted()
    _asked("ask_close")
    return "/money/months/2027-02/"


def month_closed() -> str:
    _posted()
    _asked("close")
    return "/money/months/2027-02/"


def month_reopening() -> str:
    _posted()
    _asked("ask_reopen")
    return "/money/months/2027-02/"


def proofs() -> str:
    build.ProofFactory()
    build.ProofFactory(is_good=False, ran_by=build.UserFactory(username="fay.finch"))
    return "/money/proofs/"


def proof_bad() -> str:
    good = {"code": "trial-balance", "words": "Debits equal credits", "good": True, "found": [], "more": False}
    bad = {"code": "labor-minutes", "words": LONG, "good": False, "found": [KEY] * 5, "more": True}
    return f"/money/proofs/{build.ProofFactory(is_good=False, checks=[good, bad]).public_id}/"


def mappings() -> str:
    award = build.AwardFactory(name="Riparian restoration, second phase")
    build.AccountMappingFactory(outer_code="5100-10", outer_name="Wages, regular")
    build.AccountMappingFactory(fund=award.fund, award=award, category="labor", outer_code="5100-44")
    build.JournalBatchFactory(number=7, rows_count=2_140, total_cents=12_884_512)
    _posted()
    return "/money/mappings/"


def mapping() -> str:
    return f"/money/mappings/{build.AccountMappingFactory().public_id}/"
