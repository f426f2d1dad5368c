"""Addresses of setting up people, crews, logins and the first run."""

from django.urls import URLPattern, path

from orders.desk.setup import absences, crews, first_account, first_run, people, roles_rates, users, usual_pages

urlpatterns: list[URLPattern] = [
    path("setup/", first_run.guide_page, name="setup"),
    path("setup/reference/", first_run.reference_loaded, name="setup-reference"),
    path("setup/usual/<slug:kind>/", usual_pages.usual_page, name="setup-usual"),
    path("setup/first/", first_account.first_page, name="setup-first"),
    path("setup/people/", people.people_page, name="setup-people"),
    path("setup/people/new/", people.person_new, name="setup-person-new"),
    path("setup/people/<uuid:person_id>/", people.person_page, name="setup-person"),
    path("setup/people/<uuid:person_id>/edit/", people.person_edited, name="setup-person-edit"),
    path("setup/people/<uuid:person_id>/away/", people.person_used, {"is_active": False}, "setup-person-deactivate"),
    path("setup/people/<uuid:person_id>/back/", people.person_used, {"is_active": True}, "setup-person-activate"),
    path("setup/people/<uuid:person_id>/qualifications/new/", people.qualification_new, name="setup-qualification-new"),
    path("setup/qualifications/<uuid:qualification_id>/", people.qualification_edited, name="setup-qualification"),
    path(
        "setup/qualifications/<uuid:qualification_id>/end/", people.qualification_ended, name="setup-qualification-end"
    ),
    path("setup/crews/", crews.crews_page, name="setup-crews"),
    path("setup/crews/new/", crews.crew_new, name="setup-crew-new"),
    path("setup/crews/<uuid:crew_id>/", crews.crew_page, name="setup-crew"),
    path("setup/crews/<uuid:crew_id>/away/", crews.crew_used, {"is_active": False}, "setup-crew-deactivate"),
    path("setup/crews/<uuid:crew_id>/back/", crews.crew_used, {"is_active": True}, "setup-crew-activate"),
    path("setup/crews/<uuid:crew_id>/lead/", crews.crew_led, name="setup-crew-lead"),
    path("setup/crews/<uuid:crew_id>/people/new/", crews.member_new, name="setup-member-new"),
    path("setup/crews/people/<uuid:member_id>/", crews.member_edited, name="setup-member"),
    path("setup/availability/", absences.absences_page, name="setup-absences"),
    path("setup/availability/new/", absences.absence_new, name="setup-absence-new"),
    path("setup/availability/<uuid:absence_id>/", absences.absence_page, name="setup-absence"),
    path("setup/availability/<uuid:absence_id>/remove/", absences.absence_removed, name="setup-absence-remove"),
    path("setup/roles/", roles_rates.roles_page, name="setup-roles"),
    path("setup/roles/new/", roles_rates.role_new, name="setup-role-new"),
    path("setup/roles/rates/", roles_rates.rates_page, name="setup-rates"),
    path("setup/roles/<uuid:role_id>/", roles_rates.role_page, name="setup-role"),
    path("setup/roles/<uuid:role_id>/rates/", roles_rates.role_rated, name="setup-role-rate"),
    path("setup/qualification-kinds/", roles_rates.kinds_page, name="setup-kinds"),
    path("setup/qualification-kinds/new/", roles_rates.kind_new, name="setup-kind-new"),
    path("setup/qualification-kinds/<uuid:kind_id>/", roles_rates.kind_page, name="setup-kind"),
    path("setup/logins/", users.users_page, name="setup-users"),
    path("setup/logins/new/", users.user_new, name="setup-user-new"),
    path("setup/logins/<uuid:user_id>/", users.user_page, name="setup-user"),
    path("setup/logins/<uuid:user_id>/away/", users.user_used, {"is_active": False}, "setup-user-deactivate"),
    path("setup/logins/<uuid:user_id>/back/", users.user_used, {"is_active": True}, "setup-user-activate"),
    path("setup/logins/<uuid:user_id>/password/", users.user_password_given, name="setup-user-password"),
    path("setup/password/", users.own_password, name="setup-password"),
]
