"""The detector: force in, holds and contacts out; `table` holds the theory."""

from strikebridge.holds.detector import HoldDetector
from strikebridge.holds.touch import Watch

__all__ = ["HoldDetector", "Watch"]
