"""`python -m tests.benchmarks.ledger [--rows 1_000_000]`: cost reports over a large ledger, against the bare SQL.

DATABASE_URL names a PostgreSQL server; a database of its own is made there and dropped again.
"""

import argparse
import os
import sys
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import urlsplit, urlunsplit

import psycopg

from tests.benchmarks.timing import best_seconds, peak_memory_bytes

DATABASE = "fencerow_ledger_benchmark"
TEMPLATES = 2_000
ROUNDS = 5
SUMS = "sum(amount_cents), sum(quantity) filter (where category = 'labor' and unit = 'min')"
PLANNED = "sum(amount_cents), sum(minutes)"
# what the report is cut by -> the columns that the bare SQL groups by
CUTS = {
    ("fund",): "fund_id",
    ("month",): "posting_month",
    ("patch",): "site_code, patch_code",
    ("site", "category"): "site_code, category",
    ("fund", "month"): "fund_id, posting_month",
    ("patch", "method"): "site_code, patch_code, method_code",
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rows", type=lambda text: int(text.replace("_", "")), default=1_000_000)
    asked = parser.parse_args()
    server = os.environ.get("DATABASE_URL", "")
    if not server.startswith("postgres"):
        sys.exit("Name a PostgreSQL server in DATABASE_URL.")
    _on(server, f"DROP DATABASE IF EXISTS {DATABASE}", f"CREATE DATABASE {DATABASE}")
    try:
        _measure(urlunsplit(urlsplit(server)._replace(path=f"/{DATABASE}")), asked.rows)
    finally:
        _on(server, f"DROP DATABASE IF EXISTS {DATABASE} WITH (FORCE)")


def _on(address: str, *statements: str) -> None:
    with psycopg.connect(address, autocommit=True) as connection:
        for statement in statements:
            connection.execute(statement)


def _measure(address: str, rows: int) -> None:
    os.environ["DATABASE_URL"] = address
    os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
    import django

    django.setup()
    from django.core.management import call_command
    from django.test.utils import setup_test_environment

    setup_test_environment()
    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)  # pages name their files by hash
    _templates()
    _multiply(rows)
    _reports(address)
    _pages(address)
    _whole()


def _templates() -> None:
    """Two thousand different rows: 100 orders, 400 patches, 8 funds, 12 months, all categories, some taken back."""
    from orders.costs.models import CATEGORIES, LedgerEntry
    from tests import build

    funds = [build.FundFactory() for _ in range(8)]
    season = build.SeasonFactory()
    orders = [build.WorkOrderFactory(season=season) for _ in range(100)]
    person = build.PersonFactory()
    nowhere = {"visit": None, "prescription": None, "patch_code": "P-1", "method_code": "method-1"}
    for fund, order in zip(funds, orders, strict=False):
        build.CommitmentFactory.create_batch(5, **nowhere, fund=fund, order=order)
    rows = []
    for number in range(TEMPLATES):
        order, (category, _) = orders[number % 100], CATEGORIES[number % 8]
        month = date(2027, 1 + number % 12, 1)
        rows.append(
            build.LedgerEntryFactory.build(
                order=order,
                order_number=order.number,
                visit=None,
                prescription=None,
                person=person,
                person_type=("staff", "volunteer")[number % 2],
                fund=funds[number % 8],
                category=category,
                debit=f"cost-{category}",
                site_code=f"SITE-{number % 40}",
                patch_code=f"P-{number % 400}",
                method_code=f"method-{number % 9}",
                crew_name=order.crew.name,
                posting_month=month,
                work_date=month.replace(day=1 + number % 28),
                amount_cents=(number * 7919) % 50_000 - (2_000 if number % 50 == 0 else 0),
                posting_key=f"template-{number}",
            )
        )
    LedgerEntry.objects.bulk_create(rows)


def _multiply(rows: int) -> None:
    """The templates again and again, by the database, with ids and keys of their own."""
    from django.db import connection

    from orders.costs.models import LedgerEntry

    own = {"public_id": "gen_random_uuid()", "source_id": "gen_random_uuid()", "posting_key": "posting_key || ':' || n"}
    own["amount_cents"] = "amount_cents + n % 97"
    columns = [str(field.column) for field in LedgerEntry._meta.concrete_fields if not field.primary_key]
    said = ", ".join(own.get(column, column) for column in columns)
    named, times = ", ".join(f'"{column}"' for column in columns), rows // TEMPLATES - 1
    with connection.cursor() as cursor:
        source = f"SELECT {said} FROM costs_ledgerentry, generate_series(1, {times}) n"
        cursor.execute(f"INSERT INTO costs_ledgerentry ({named}) {source}")
        cursor.execute("VACUUM ANALYZE costs_ledgerentry")
        cursor.execute("SELECT count(*) FROM costs_ledgerentry")
        print(f"{cursor.fetchone()[0]:,} ledger rows")


def _reports(address: str) -> None:
    from orders.reports.asking import Asked
    from orders.reports.cube import cost_cube
    from tests import build

    finance = build.UserFactory(username="bench", roles=["finance"])
    with psycopg.connect(address) as bare:
        for by, columns in CUTS.items():
            took = best_seconds(
                ROUNDS,
                report=lambda by=by: cost_cube(actor=finance, asked=Asked(), by=by),
                bare=lambda columns=columns: _bare(bare, columns),
            )
            _tell(f"cost by {' and '.join(by)}", took["report"], took["bare"])


def _bare(connection: psycopg.Connection, columns: str) -> None:
    cost = f"SELECT {columns}, {SUMS} FROM costs_ledgerentry WHERE book = 'cost' GROUP BY {columns}"
    connection.execute(cost).fetchall()
    connection.execute(f"SELECT {columns}, {PLANNED} FROM costs_commitment GROUP BY {columns}").fetchall()


def _tell(name: str, ours: float, bare: float) -> None:
    print(f"{name:32}{ours * 1000:10.0f} ms   bare SQL {bare * 1000:8.0f} ms   ratio {ours / bare:.2f}")


def _pages(address: str) -> None:
    """Whole replies, with login and template, beside the SQL that they cannot do without."""
    from django.test import Client

    from orders.common.models import User

    client = Client()
    client.force_login(User.objects.get(username="bench"))
    where = "site_code = 'SITE-7' AND book = 'cost'"
    pages = {
        "rows behind a site": (
            "/money/reports/cost/rows/?by=site&key=SITE-7",
            f"SELECT count(*), {SUMS} FROM costs_ledgerentry WHERE {where}",
            f"SELECT * FROM costs_ledgerentry WHERE {where} ORDER BY work_date, id LIMIT 100",
        ),
        "rows behind a patch and month": (
            "/money/reports/cost/rows/?by=patch&key=SITE-7+P-7&and=month&and_key=2027-08",
            f"SELECT count(*), {SUMS} FROM costs_ledgerentry WHERE {where} AND patch_code = 'P-7'"
            " AND posting_month = '2027-08-01'",
            f"SELECT * FROM costs_ledgerentry WHERE {where} AND patch_code = 'P-7' AND posting_month = '2027-08-01'"
            " ORDER BY work_date, id LIMIT 100",
        ),
        "ledger, first page": (
            "/money/reports/ledger/",
            "SELECT count(*) FROM costs_ledgerentry",
            "SELECT * FROM costs_ledgerentry ORDER BY id LIMIT 100",
        ),
        "ledger API, first page": (
            "/api/ledger",
            "SELECT 1",
            "SELECT * FROM costs_ledgerentry ORDER BY id LIMIT 100",
        ),
    }
    with psycopg.connect(address) as bare:
        for name, (page, *statements) in pages.items():
            took = best_seconds(
                ROUNDS,
                page=lambda page=page: _got(client, page),
                bare=lambda statements=statements: [bare.execute(one).fetchall() for one in statements],
            )
            _tell(name, took["page"], took["bare"])


def _whole() -> None:
    """What reads every row: the ledger as a file, and the proof. Memory is the peak of this process so far."""
    from orders.common.clock import now
    from orders.common.models import User
    from orders.costs.services.proof import proof_look
    from orders.reports.about import about_of
    from orders.reports.catalog import report_table
    from orders.reports.files import table_write

    finance = User.objects.get(username="bench")
    with TemporaryDirectory() as folder:
        for name, work in {
            "ledger as CSV": lambda: table_write(
                report_table(finance, "ledger", {}), "csv", Path(folder), name="all", about=about_of(finance, now())
            ),
            "proof": proof_look,
        }.items():
            before, took = peak_memory_bytes(), best_seconds(1, work=work)["work"]
            peak = peak_memory_bytes()
            print(
                f"{name:32}{took:10.1f} s    memory {before / 2**20:.0f} MiB before, {peak / 2**20:.0f} MiB at the peak"
            )


def _got(client, address):
    reply = client.get(address)
    assert reply.status_code == 200, reply.content[:500]
    return reply


if __name__ == "__main__":
    main()
