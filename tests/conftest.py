"""What holds for every test: no test needs a screen."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
