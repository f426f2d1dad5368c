"""Addresses of patches drawn, surveyed by hand, split, merged and photographed."""

from django.urls import URLPattern, path

from orders.desk.ground import photos, succession, surveying

urlpatterns: list[URLPattern] = [
    path("patches/new/", surveying.patch_new, name="patch-new"),
    path("patches/<uuid:patch_id>/change/", surveying.patch_change, name="patch-change"),
    path("patches/<uuid:patch_id>/survey/new/", surveying.survey_new, name="survey-new"),
    path("surveys/<uuid:survey_id>/correct/", surveying.survey_correction, name="survey-correct"),
    path("surveys/<uuid:survey_id>/take-back/", surveying.survey_take_back, name="survey-take-back"),
    path("patches/<uuid:patch_id>/split/", succession.split_page, name="patch-split"),
    path("patches/merge/", succession.merge_page, name="patch-merge"),
    path("patches/successions/<uuid:event>/undo/", succession.undo, name="succession-undo"),
    path("patches/<uuid:patch_id>/photos/", photos.photos_page, name="patch-photos"),
    path("patches/photos/<uuid:photo_id>/", photos.photo, name="patch-photo"),
    path("patches/photos/<uuid:photo_id>/small/", photos.photo_small, name="patch-photo-small"),
    path("patches/photos/<uuid:photo_id>/take-down/", photos.take_down, name="patch-photo-take-down"),
    path("patches/photos/<uuid:photo_id>/put-back/", photos.put_back, name="patch-photo-put-back"),
]
