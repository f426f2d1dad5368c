"""Mishaps, signs, and what was newly seen."""

from orders.bodies.safety import DetectionIn, IncidentIn, SignIn
from orders.commands.heard import Heard, hears
from orders.commands.lookups import maybe_named, named, said
from orders.commands.raising import CHEMICALS, Raiser
from orders.crews.models import Crew
from orders.field.models import Detection
from orders.field.services.detections import detection_add
from orders.sites.models import GrowthForm, Site, Species
from orders.workorders.incidents import incident_add
from orders.workorders.models import Incident, SignPosting
from orders.workorders.signs import sign_posting_add

DETAIL_CHARACTERS = 2000


@hears("incident", IncidentIn)
def incident_hear(heard: Heard) -> None:
    body = heard.body
    incident = Incident(
        public_id=body["id"],
        at=heard.happened_at,
        order=heard.order,
        crew=maybe_named(Crew, body.get("crew"), "crew"),
        site=maybe_named(Site, body.get("site"), "site"),
        **said(body, "kind", "work_date", "what_happened", "what_was_done", "people", "told", "work_stopped"),
        **said(body, "lon", "lat", "reported_by"),
    )
    kept = incident_add(incident=incident, stamp=heard.stamp)
    where = f" at {kept.site}" if kept.site else ""
    Raiser(heard, site=kept.site, crew=kept.crew).urgent(
        str(kept.public_id),
        "incident",
        f"{kept.get_kind_display()}{where}, told by {kept.reported_by}",
        detail=kept.what_happened[:DETAIL_CHARACTERS],
        data={"incident": str(kept.public_id), "kind": kept.kind, "work_stopped": kept.work_stopped},
        roles=CHEMICALS,
    )


@hears("sign", SignIn)
def sign_hear(heard: Heard) -> None:
    body = heard.body
    posting = SignPosting(
        public_id=body["id"],
        at=heard.happened_at,
        order=heard.order,
        site=named(Site, body["site"], "site"),
        **said(body, "sign", "state", "place", "lon", "lat"),
    )
    sign_posting_add(posting=posting, stamp=heard.stamp)


@hears("detection", DetectionIn)
def detection_hear(heard: Heard) -> None:
    body = heard.body
    site = named(Site, body["site"], "site")
    detection = Detection(
        public_id=body["id"],
        at=heard.happened_at,
        site=site,
        species=maybe_named(Species, body.get("species"), "species", by="code"),
        growth_form=named(GrowthForm, body["growth_form"], "growth_form", by="code").code,
        **said(body, "species_text", "geometry", "accuracy_m", "cover_percent", "note"),
    )
    kept = detection_add(detection=detection, stamp=heard.stamp)
    seen = Raiser(heard, site=site)
    data = {"detection": str(kept.public_id)}
    if kept.survey is not None:
        seen.note(str(kept.public_id), "detection", f"Newly seen at {site}: {kept.species}, patch {kept.survey.patch}")
        return
    title = f"Newly seen at {site}, and not enough is told for a survey"
    seen.settle(str(kept.public_id), "detection_incomplete", title, detail=kept.note, data=data)
