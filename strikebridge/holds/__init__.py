"""The detector: force in, holds and contacts out; `detector` opens with the theory."""

from strikebridge.holds.detector import HoldDetector, Watch

__all__ = ["HoldDetector", "Watch"]
