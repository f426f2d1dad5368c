"""How much of a survey file is read, as the settings have it."""

from django.conf import settings

from orders.sites.geofiles.records import Limits


def file_limits() -> Limits:
    return Limits(
        file_bytes=settings.SURVEY_FILE_MAX_BYTES,
        unpacked_bytes=settings.SURVEY_FILE_MAX_UNPACKED_BYTES,
        features=settings.SURVEY_FILE_MAX_FEATURES,
        vertices=settings.SURVEY_FILE_MAX_VERTICES,
        cpu_seconds=settings.SURVEY_FILE_SECONDS,
        wall_seconds=1.5 * settings.SURVEY_FILE_SECONDS,  # a busy machine gives the child less than a processor
    )
