"""Products, mixes, prices and stock."""

import hashlib
from datetime import date
from decimal import Decimal

import factory

from orders.supplies import models as supplies
from orders.supplies.services import PRICE_UNITS
from tests.build.base import NOW, Build
from tests.build.people import PersonFactory


class ProductFactory(Build):
    """A herbicide with a reviewed label, one ingredient and one cap; `caps=[{...}]` gives others."""

    class Meta:
        model = supplies.Product

    code = factory.Sequence(lambda n: f"herbicide-{n}")
    name = factory.LazyAttribute(lambda product: f"Invented {product.code}")
    registration_number = factory.Sequence(lambda n: f"99901-{n}")
    label_version = "2026-01"
    label_reference = "invented"
    reviewed_on = date(2026, 11, 2)
    reviewed_by = "P. Supervisor"
    signal_word = "Caution"
    states = ["IN", "KY"]
    entry_rule = "Keep out until dry"

    @factory.post_generation
    def ingredients(self, create, extracted, **kwargs):
        """Grams of acid equivalent a liter by ingredient."""
        usual = {"glyphosate": 480.0} if self.is_herbicide else {}
        for name, ae_g_per_l in (usual if extracted is None else extracted).items():
            ProductIngredientFactory(product=self, ingredient=name, ae_g_per_l=ae_g_per_l)

    @factory.post_generation
    def uses(self, create, extracted, **kwargs):
        """Methods that the label allows, each its code or `{...}` with what the label gives for it."""
        usual = ["cut-stem", "dormant-foliar", "spot-foliar"]
        for use in usual if extracted is None else extracted:
            LabelUseFactory(product=self, **(use if isinstance(use, dict) else {"method": use}))

    @factory.post_generation
    def weather(self, create, extracted, **kwargs):
        for facts in extracted or []:
            LabelWeatherFactory(product=self, **facts)

    @factory.post_generation
    def caps(self, create, extracted, **kwargs):
        for facts in ([{}] if self.is_herbicide else []) if extracted is None else extracted:
            LabelCapFactory(product=self, **facts)


class ProductIngredientFactory(Build):
    class Meta:
        model = supplies.ProductIngredient

    product = factory.SubFactory(ProductFactory, ingredients={})
    ingredient = "glyphosate"
    ae_g_per_l = 480.0


class LabelUseFactory(Build):
    class Meta:
        model = supplies.LabelUse

    product = factory.SubFactory(ProductFactory, uses=[])
    method = "cut-stem"
    reference = "invented"


class LabelWeatherFactory(Build):
    class Meta:
        model = supplies.LabelWeather

    product = factory.SubFactory(ProductFactory)
    measure = "wind_m_s"
    high = 4.47
    kind = "label-advisory"
    reference = "invented"


class LabelCapFactory(Build):
    class Meta:
        model = supplies.LabelCap

    product = factory.SubFactory(ProductFactory, caps=[])
    ingredient = "glyphosate"
    kg_ae_per_ha = 8.0
    period = "year"
    area_basis = "treated"
    year_basis = "calendar"
    kind = "label-mandatory"
    reference = "invented"


class MixFactory(Build):
    """A foliar mix of one herbicide at 2%; `products=[(product, percent, part), ...]` gives others."""

    class Meta:
        model = supplies.Mix

    code = factory.Sequence(lambda n: f"mix-{n}")
    name = factory.LazyAttribute(lambda mix: f"Invented {mix.code}")
    carrier_l_per_ha = 400.0
    area_basis = "canopy"
    tank_l = 15.0

    @factory.post_generation
    def products(self, create, extracted, **kwargs):
        for product, percent, part in extracted or [(ProductFactory(), 2.0, "herbicide")]:
            MixPartFactory(mix=self, product=product, percent_vv=percent, part=part)


class MixPartFactory(Build):
    class Meta:
        model = supplies.MixPart

    mix = factory.SubFactory(MixFactory)
    product = factory.SubFactory(ProductFactory)
    percent_vv = 2.0
    part = "herbicide"


class PriceFactory(Build):
    class Meta:
        model = supplies.Price

    kind = "mileage"
    code = factory.LazyAttribute(lambda price: price.kind)
    unit = factory.LazyAttribute(lambda price: PRICE_UNITS[price.kind])
    from_day = date(2026, 1, 1)
    price_e4 = 6_700
    source = "invented"


class StockLotFactory(Build):
    """With a receipt of 10 L; `received_ul=0` leaves it empty."""

    class Meta:
        model = supplies.StockLot

    product = factory.SubFactory(ProductFactory)
    lot_number = factory.Sequence(lambda n: f"LOT-{n}")
    price_e4 = 220_000
    received_on = date(2026, 11, 3)

    @factory.post_generation
    def received_ul(self, create, extracted, **kwargs):
        amount = 10_000_000 if extracted is None else extracted
        if amount:
            StockMovementFactory(lot=self, amount=amount, entered_value=Decimal(amount) / 1_000_000)


class StockMovementFactory(Build):
    class Meta:
        model = supplies.StockMovement

    lot = factory.SubFactory(StockLotFactory, received_ul=0)
    kind = "receipt"
    amount = 10_000_000
    entered_value = Decimal(10)
    entered_unit = "L"
    on = date(2026, 11, 3)
    at = NOW


class EquipmentFactory(Build):
    class Meta:
        model = supplies.Equipment

    code = factory.Sequence(lambda n: f"sprayer-{n}")
    name = factory.LazyAttribute(lambda kind: kind.code.capitalize())
    count = 4


class ProductDocumentFactory(Build):
    """`content=b"..."` is the file."""

    class Meta:
        model = supplies.ProductDocument

    class Params:
        content = factory.Sequence(lambda n: b"%%PDF-1.4 invented %d" % n)

    product = factory.SubFactory(ProductFactory)
    kind = "label"
    file_name = factory.LazyAttribute(lambda document: f"{document.kind}.pdf")
    content_type = "application/pdf"
    size_bytes = factory.LazyAttribute(lambda document: len(document.content))
    sha256 = factory.LazyAttribute(lambda document: hashlib.sha256(document.content).hexdigest())
    file_bytes = factory.SelfAttribute("content")
    added_at = NOW


class VolunteerPermitFactory(Build):
    """`for_products=[...]` on `on_sites=[...]`."""

    class Meta:
        model = supplies.VolunteerPermit

    person = factory.SubFactory(PersonFactory, person_type="volunteer")
    trained_by = "A. Applicator"
    trained_on = date(2027, 1, 9)
    first_day = date(2027, 1, 10)
    last_day = date(2027, 12, 31)

    @factory.post_generation
    def for_products(self, create, extracted, **kwargs):
        self.products.set(extracted or [])

    @factory.post_generation
    def on_sites(self, create, extracted, **kwargs):
        self.sites.set(extracted or [])
