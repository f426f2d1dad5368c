"""What the labels of an order's products ask for, and products, lots and mixes that stand open."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from django.db.models import Prefetch

from orders.crews.models import Crew
from orders.sites.models import Site
from orders.supplies.models import Product, ProductDocument
from orders.supplies.selectors import documents_standing, products, stock_levels
from orders.workorders.models import Application, BatchPart, MixBatch, MixDayEnd

BATCH_DAYS_BACK = 60  # older mixes no crew should have in a tank


def weather_limits(card: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [
        {"product": product["code"], "name": product["name"], **limit}
        for product in card["products"]
        for limit in product["weather"]
    ]


def entry_rule(card: Mapping[str, Any], site: Site) -> dict[str, Any] | None:
    """The one that applies to this use: the restricted-entry interval under worker-protection rules, else the label's
    own words. None where nothing is sprayed."""
    used = card["products"]
    if not used:
        return None
    words = _once(product["entry_rule"] for product in used)
    hours = card["restricted_entry_hours"] if site.worker_protection_rules else None
    applies = "restricted" if site.worker_protection_rules else "label"
    return {"applies": applies, "hours": hours, "text": " ".join(f"{text.rstrip('.')}." for text in words)}


def label_texts(card: Mapping[str, Any], name: str) -> list[str]:
    return _once(product[name] for product in card["products"])


def _once(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(word for word in words if word))


def products_shown(codes: Collection[str]) -> list[dict[str, Any]]:
    documents = Prefetch("documents", queryset=documents_standing(), to_attr="documents_now")
    return [_product(row) for row in products().filter(code__in=codes).prefetch_related(documents)]


def _product(product: Product) -> dict[str, Any]:
    held: list[ProductDocument] = product.documents_now  # type: ignore[attr-defined]  # the prefetch above
    return {
        "code": product.code,
        "name": product.name,
        "registration_number": product.registration_number,
        "signal_word": product.signal_word,
        "is_herbicide": product.is_herbicide,
        "ingredients": {row.ingredient: row.ae_g_per_l for row in product.ingredients.all()},
        "methods": product.uses,
        "documents": [
            {
                name: getattr(row, name)
                for name in ("kind", "language", "sha256", "size_bytes", "content_type", "file_name")
            }
            for row in held
        ],
    }


def lots_held(codes: Collection[str]) -> list[dict[str, Any]]:
    """Lots in stock, the oldest first; another one is typed as it stands on its container."""
    return [
        {
            "id": str(level.lot.public_id),
            "product": level.product.code,
            "lot_number": level.lot.lot_number,
            "received_on": level.lot.received_on.isoformat(),
        }
        for level in stock_levels()
        if level.amount > 0 and level.product.code in codes
    ]


def batches_open(crews: Collection[Crew], today: date) -> list[dict[str, Any]]:
    """Mixes of the crews of which something is left."""
    standing = Application.objects.filter(replaced_by__isnull=True).order_by("started_at", "id")
    ends = MixDayEnd.objects.filter(replaced_by__isnull=True).order_by("work_date", "id")
    parts = BatchPart.objects.select_related("product", "lot").order_by("id")
    rows = (
        MixBatch.objects.filter(crew__in=crews, work_date__gte=today - timedelta(days=BATCH_DAYS_BACK))
        .select_related("crew", "site", "mix", "mixed_by")
        .defer("site__boundary")
        .prefetch_related(
            Prefetch("applications", queryset=standing, to_attr="uses"),
            Prefetch("day_ends", queryset=ends, to_attr="ends"),
            Prefetch("parts", queryset=parts),
        )
        .order_by("work_date", "id")
    )
    return [_batch(batch, left) for batch in rows if (left := left_ul(batch)) > 0]


def left_ul(batch: Any) -> int:
    """What the last day's end carried over, else what was mixed, less what was used since."""
    last = batch.ends[-1] if batch.ends else None
    begun: int = batch.volume_ul if last is None else last.carried_over_ul
    used: int = sum(use.volume_ul for use in batch.uses if last is None or use.work_date > last.work_date)
    return max(0, begun - used)


def _batch(batch: MixBatch, left: int) -> dict[str, Any]:
    return {
        "id": str(batch.public_id),
        "crew": str(batch.crew.public_id),
        "site": str(batch.site.public_id),
        "work_date": batch.work_date.isoformat(),
        "container": batch.container,
        "carrier_ul": batch.carrier_ul,
        "volume_ul": batch.volume_ul,
        "left_ul": left,
        "mix": str(batch.mix.public_id) if batch.mix else None,
        "mixed_by": str(batch.mixed_by.public_id),
        "parts": [
            {
                "product": part.product.code,
                "lot": str(part.lot.public_id) if part.lot else None,
                "lot_text": part.lot_text,
                "value": f"{part.entered_value.normalize():f}",
                "unit": part.entered_unit,
            }
            for part in batch.parts.all()
        ],
    }
