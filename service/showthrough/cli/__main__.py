"""``python -m showthrough.cli``."""

import sys

from showthrough.cli.main import run

sys.exit(run())
