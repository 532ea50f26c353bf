"""``python -m cbi_monitor.cli``."""

import sys

from cbi_monitor.cli import main

sys.exit(main())
