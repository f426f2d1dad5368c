"""What the labels say of an estimate's mix, before anything is ordered."""

from typing import Any

from rest_framework import serializers

from estimating.labels import THE_LAW
from orders.api.base import Endpoint
from orders.api.operations import shows
from orders.api.shapes import Out
from orders.estimates.selectors import estimate_get
from orders.supplies.models import LIMIT_KINDS
from orders.workorders.label_checks import label_findings_for


class CountedOut(Out):
    row = serializers.CharField(help_text="The order, record or estimate that the use stands on.")
    on = serializers.DateField()
    product = serializers.CharField()
    product_l = serializers.FloatField()
    kg_ae = serializers.FloatField()
    area_m2 = serializers.FloatField(help_text="Of the basis that the cap names: treated, infested or gross.")
    kg_ae_per_ha = serializers.FloatField()


class LabelFindingOut(Out):
    kind = serializers.ChoiceField(LIMIT_KINDS)
    overridable = serializers.BooleanField(help_text="Never for what the label makes mandatory.")
    code = serializers.CharField()
    message = serializers.CharField()
    product = serializers.CharField()
    ingredient = serializers.CharField()
    limit = serializers.FloatField(allow_null=True)
    total = serializers.FloatField(allow_null=True)
    unit = serializers.CharField()
    reference = serializers.CharField()
    rows = serializers.ListField(child=serializers.CharField())
    counted = CountedOut(many=True, help_text="The parts of the sum.")


class LabelWordOut(Out):
    on = serializers.DateField(help_text="As if the work were done in one visit on this day.")
    notice = serializers.CharField()
    findings = LabelFindingOut(many=True, help_text="Empty: nothing known here speaks against it. The label decides.")


class EstimateLabel(Endpoint):
    endpoint = "estimate-label"

    @shows(LabelWordOut)
    def get(self, estimate_id: Any) -> dict[str, Any]:
        """What the labels of the mix say of this estimate today, with earlier work and open orders on the same ground.
        The guard runs again when an order is issued."""
        estimate = estimate_get(estimate_id)
        found = label_findings_for([estimate], on=self.today)
        return {"on": self.today, "notice": THE_LAW, "findings": found[estimate.pk]}
