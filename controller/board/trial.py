"""A trial that a host asked for: its hours counted down. It ends by itself and at any reset."""

from controller.core.screen import REQUEST_NONE, REQUEST_TRIAL

MOST_HOURS = 96


class Trial:
    """left_s: seconds that it still goes on."""

    def __init__(self):
        self.left_s = 0

    def start(self, hours):
        """Begin, or end with hours 0."""
        self.left_s = hours * 3600

    def request(self, elapsed_s):
        """Return the request for core.screen.Raw, after elapsed_s more."""
        self.left_s = max(self.left_s - elapsed_s, 0)
        return REQUEST_TRIAL if self.left_s else REQUEST_NONE
