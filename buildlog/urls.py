"""Every URL, one job each. tests/buildlog/test_urls_by_role.py fails for a URL that no role was written down
for.
"""

from django.urls import path

from buildlog.views import hull, log, openings, photos, strakes

BUILD = "builds/<uuid:build_uuid>/"

urlpatterns = [
    path(BUILD + "log/", log.log, name="log"),
    path(BUILD + "hull/", hull.hull, name="hull"),
    path(BUILD + "openings/<uuid:opening_uuid>/sums/", openings.opening_sums, name="opening-sums"),
    path(BUILD + "strakes/<uuid:strake_uuid>/", strakes.strake_detail, name="strake-detail"),
    path(BUILD + "photos/<uuid:photo_uuid>/<str:size>", photos.serve_photo, name="photo-serve"),
]
