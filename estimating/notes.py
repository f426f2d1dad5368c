"""What is to be said about a job beside its figures, and why some jobs have none."""

from enum import IntFlag

import numpy as np

from estimating.columns import BoolArray, IntArray, Known
from estimating.effort import PairSet
from estimating.ground import BY_STEMS, Ground
from estimating.inputs import Jobs
from estimating.pace import crew_limits
from estimating.rate_book import RateBook


class Note(IntFlag):
    """What is to be said about a job beside its figures; those in NO_FIGURES mean that it has none."""

    NOT_TREATED = 1
    NO_TIME_LEFT = 2
    PART_NOT_TREATED = 4
    MIX_NOT_CHOSEN = 8
    STEMS_ASSUMED = 16
    COVER_FROM_CLASS = 32
    CREW_TOO_SMALL = 64
    CREW_PART_SENT = 128
    HEAT_STOPS_WORK = 256
    ROOTING_UNKNOWN = 512


NOTE_TEXT = {
    Note.NOT_TREATED: "This method treats none of the growth forms on the patch.",
    Note.NO_TIME_LEFT: "Drive, walk-in and set-up leave no time to work in a shift.",
    Note.PART_NOT_TREATED: "Some components are of a growth form that this method does not treat; they are left out.",
    Note.MIX_NOT_CHOSEN: "No mix is chosen: hours use the rate book's usual volume, and no product is counted.",
    Note.STEMS_ASSUMED: "Stems were not counted; the rate book's density stands in for them.",
    Note.COVER_FROM_CLASS: "Cover came as a class, so the range is wider.",
    Note.CREW_TOO_SMALL: "The standard crew is smaller than this method takes: add people before it starts.",
    Note.CREW_PART_SENT: "This method takes fewer people than the crew has; the others are free for other work.",
    Note.HEAT_STOPS_WORK: "It is too hot for this work by the work/rest table: plan another day.",
    Note.ROOTING_UNKNOWN: "It is not known whether loose stems root again, so taking them off the ground is counted.",
}
NO_FIGURES = Note.NOT_TREATED | Note.NO_TIME_LEFT | Note.HEAT_STOPS_WORK


def treatment_notes(ground: Ground, pairs: PairSet, treated_forms: BoolArray) -> IntArray:
    """Notes about what a method's jobs treat and what their figures rest on."""
    treats = pairs.gather(treated_forms.astype(np.float64)[ground.components.growth_form])
    treated = pairs.by_job(treats)
    count = pairs.by_job(np.ones(len(pairs.job)))
    drivers = {step.driver for step in ground.book.method_steps(pairs.method)}
    by_stem = not drivers.isdisjoint(BY_STEMS)
    assumed = pairs.by_job(treats * pairs.gather(ground.stems_assumed.astype(np.float64))) > 0
    classed = pairs.by_job(treats * pairs.gather(ground.components.cover_from_class.astype(np.float64))) > 0
    notes = np.where(treated == 0, Note.NOT_TREATED, 0)
    notes |= np.where((treated > 0) & (treated < count), Note.PART_NOT_TREATED, 0)
    notes |= np.where(assumed & by_stem, Note.STEMS_ASSUMED, 0)
    notes |= np.where(classed, Note.COVER_FROM_CLASS, 0)
    if "rooting_debris_m3" in drivers:
        notes |= np.where(rooting_unknown(ground, pairs), Note.ROOTING_UNKNOWN, 0)
    return notes


def rooting_unknown(ground: Ground, pairs: PairSet) -> BoolArray:
    """Jobs where loose stems are taken off the ground because nobody knows whether they root again."""
    (step,) = (found for found in ground.book.method_steps(pairs.method) if found.driver == "rooting_debris_m3")
    unknown = (ground.components.reroots == Known.UNKNOWN) & (ground.debris_m3(pairs.method) > 0)
    handled = np.nan_to_num(step.hours_per_unit)[ground.components.growth_form] > 0
    return np.asarray(pairs.by_job(pairs.gather((unknown & handled).astype(np.float64))) > 0)


def crew_notes(book: RateBook, method: str, size: int) -> int:
    """Notes about the crew that a method takes."""
    limits = crew_limits(book, method)
    too_small = Note.CREW_TOO_SMALL if size < limits.least else 0
    return int(too_small) | int(Note.CREW_PART_SENT if limits.sent(size) < size else 0)


def needs_mix(book: RateBook, method: str) -> bool:
    """Whether a method's steps go by a spray volume or its loads."""
    return any(step.driver in ("spray_volume_l", "tank_loads") for step in book.method_steps(method))


def job_notes(ground: Ground, pairs: PairSet, jobs: Jobs, crew_size: int) -> IntArray:
    """All notes of the jobs of one method that do not depend on the day."""
    notes = treatment_notes(ground, pairs, ground.book.treats(pairs.method))
    notes |= crew_notes(ground.book, pairs.method, crew_size)
    if needs_mix(ground.book, pairs.method):
        notes |= np.where(jobs.mix[pairs.job_rows] < 0, Note.MIX_NOT_CHOSEN, 0)
    return notes
