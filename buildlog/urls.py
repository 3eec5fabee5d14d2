"""Every URL, one job each. tests/buildlog/test_urls_by_role.py fails for a URL that no role was written down
for.
"""

from django.urls import path

from buildlog.site import health
from buildlog.views import (
    accounts,
    builds,
    club,
    first_plans,
    first_run,
    hull,
    links,
    log,
    one_time_links,
    openings,
    photos,
    shares,
    stations,
    strakes,
)

handler400 = "buildlog.site.errors.bad_request"
handler403 = "buildlog.site.errors.forbidden"
handler404 = "buildlog.site.errors.not_found"
handler500 = "buildlog.site.errors.failed"

BUILD = "builds/<uuid:build_uuid>/"

urlpatterns = [
    path("", builds.home, name="home"),
    path("sign-in/", accounts.sign_in, name="sign-in"),
    path("sign-out/", accounts.sign_out, name="sign-out"),
    path("once/<str:token>/", one_time_links.use, name="one-time-link"),
    path("account/", accounts.detail, name="account-detail"),
    path("account/name/", accounts.rename, name="account-rename"),
    path("account/theme/", accounts.theme, name="account-theme"),
    path("account/password/", accounts.password, name="account-password"),
    path("builds/", builds.build_list, name="build-list"),
    path("builds/new/", builds.build_new, name="build-new"),
    path(BUILD + "name/", builds.build_name, name="build-name"),
    path(BUILD + "scale/", builds.build_scale, name="build-scale"),
    path(BUILD + "sides/", builds.build_sides, name="build-sides"),
    path(BUILD + "stations/count/", stations.station_count, name="station-count"),
    path(BUILD + "stations/names/", stations.station_names, name="station-names"),
    path(BUILD + "first-run/back/<str:page>/<str:side>/", first_run.back, name="first-run-back"),
    path(BUILD + "first-plan/", first_plans.answer, name="first-plan"),
    path(BUILD + "first-plan/planking/", first_plans.planking, name="first-plan-planking"),
    path(BUILD + "first-plan/gaps/<str:side>/", first_plans.gaps, name="first-plan-gaps"),
    path(BUILD + "first-plan/gaps/<str:side>/skip/", first_plans.skip_gaps, name="first-plan-skip"),
    path(BUILD + "first-plan/leave/", first_plans.leave, name="first-plan-leave"),
    path(BUILD + "first-plan/put-in-force/", first_plans.put, name="first-plan-put"),
    path(BUILD + "first-plan/go/", first_plans.put_and_go, name="first-plan-go"),
    path("healthz", health.healthz, name="healthz"),
    path(BUILD + "links/", links.link_list, name="link-list"),
    path(BUILD + "links/new/", links.link_new, name="link-new"),
    path(BUILD + "links/<uuid:link_uuid>/", links.link_detail, name="link-detail"),
    path(BUILD + "links/<uuid:link_uuid>/pause/", links.link_pause, name="link-pause"),
    path(BUILD + "links/<uuid:link_uuid>/open/", links.link_open, name="link-open"),
    path(BUILD + "links/<uuid:link_uuid>/renew/", links.link_renew, name="link-renew"),
    path(BUILD + "links/<uuid:link_uuid>/revoke/", links.link_revoke, name="link-revoke"),
    path(BUILD + "shares/", shares.share_list, name="share-list"),
    path("club/<str:token>/", club.club, name="club"),
    path("club/<str:token>/photos/<uuid:photo_uuid>/<str:size>", club.club_photo, name="club-photo"),
    path("club/<str:token>/page.html", club.club_file, name="club-file"),
    path("club/<str:token>/feed.atom", club.club_feed, name="club-feed"),
    path(BUILD + "log/", log.log, name="log"),
    path(BUILD + "hull/", hull.hull, name="hull"),
    path(BUILD + "openings/<uuid:opening_uuid>/sums/", openings.opening_sums, name="opening-sums"),
    path(BUILD + "strakes/<uuid:strake_uuid>/", strakes.strake_detail, name="strake-detail"),
    path(BUILD + "photos/<uuid:photo_uuid>/<str:size>", photos.serve_photo, name="photo-serve"),
]
