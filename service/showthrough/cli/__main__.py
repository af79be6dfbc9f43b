"""``python -m showthrough.cli``."""

import sys

from showthrough.cli.main import main

sys.exit(main())
