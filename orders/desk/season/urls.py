"""Addresses of these pages."""

from django.urls import URLPattern, path

from orders.desk.season import beside, estimating, prescribe, review, seasons, whole_season

urlpatterns: list[URLPattern] = [
    path("patches/selection/", prescribe.selection_taken, name="prescribe-selection"),
    path("estimates/make/", estimating.estimates_make_page, name="estimates-make"),
    path("plans/<uuid:run_id>/beside/", beside.beside_part, name="plan-beside"),
    path("plans/<uuid:run_id>/live/", beside.live_part, name="plan-live"),
    path("seasons/new/", seasons.season_new_page, name="season-new"),
    path("seasons/prescribe/", prescribe.prescribe_now, name="prescribe-now"),
    path("seasons/<uuid:season_id>/change/", seasons.season_edit_page, name="season-edit"),
    path("seasons/<uuid:season_id>/prescribe/", prescribe.prescribe_page, name="prescribe"),
    path("seasons/<uuid:season_id>/prescribe/pick/", prescribe.picked, name="prescribe-pick"),
    path("seasons/<uuid:season_id>/prescribe/review/", review.review_page, name="prescribe-review"),
    path("seasons/<uuid:season_id>/prescribe/season/", whole_season.whole_season_page, name="prescribe-season"),
]
