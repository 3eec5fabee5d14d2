"""What is private stays out of every cache unless a view says otherwise."""

from django.utils.cache import patch_vary_headers


class PrivateByDefault:
    """Add `Cache-Control: no-store` to every answer that does not say how long it may be kept."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        if not response.has_header("Cache-Control"):
            response["Cache-Control"] = "no-store"
        if request.headers.get("HX-Request"):
            patch_vary_headers(response, ["HX-Request"])
        return response
