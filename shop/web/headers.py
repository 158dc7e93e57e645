"""What every answer says to the browser beside its content; the first of the middleware, so static files say it, too."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase

# What no page of the shop uses, no page may use, nor anything that got into one. Photos come by the file chooser.
PERMISSIONS = ", ".join(
    f"{feature}=()"
    for feature in (
        "accelerometer",
        "autoplay",
        "browsing-topics",
        "camera",
        "display-capture",
        "encrypted-media",
        "fullscreen",
        "geolocation",
        "gyroscope",
        "hid",
        "idle-detection",
        "local-fonts",
        "magnetometer",
        "microphone",
        "midi",
        "payment",
        "picture-in-picture",
        "publickey-credentials-get",
        "screen-wake-lock",
        "serial",
        "usb",
        "xr-spatial-tracking",
    )
)


class Guarded:
    """`Cache-Control: no-store` on whatever doesn't say itself how it may be kept: no page stays in a browser that others use."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        answer = self.get_response(request)
        answer.headers["Permissions-Policy"] = PERMISSIONS
        answer.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        answer.headers.setdefault("Cache-Control", "no-store")
        return answer
